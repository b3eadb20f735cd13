"""The fixed sentences of signal: lines of the key, reasons why nothing is known, where answers end."""

from __future__ import annotations

KEY = {
    "signal agreed": "thick: {0} dBm, the agreed edge",
    "signal plain": "thin: equal level, its number in dBm",
    "signal weakest": "dotted: the weakest line drawn",
    "signal unknown": "hatched: not known",
    "signal read": "cross: read there, in brackets what is predicted",
    "signal doubted": "with ?: does not fit the others, read it again",
    "signal next": "open ring: read here next",
}
ON_PLAN = {
    "line": "{0} dBm",
    "none": "none",
    "next": "read next in room {0}",
    "nothing": "On this floor no level is known.",
    "all above": "All that is known on this floor lies above the agreed edge of {0} dBm.",
    "all below": "All that is known on this floor lies below the agreed edge of {0} dBm.",
    "between": "The agreed edge of {0} dBm falls into walls here: each room lies wholly above or wholly below it.",
}
