"""Fixed words of the pages that look things up."""

from __future__ import annotations

MORE = "There are {} entries in all; the button below goes on with the earlier ones."

NO_ENDS = "No end is tagged yet. Tag each end as it is found, before anybody knows where it goes."
NO_OUTLETS = "No outlet is noted yet."
BOX_WITH_MAINS = "{}: in one box with mains. Leave it shut; that is work for a licensed electrician."

STOPS = {
    "stop:cut": "cut",
    "stop:coil": "a coil",
    "stop:lost": "lost in the wall",
    "stop:bare": "bare",
    "use:idle": "idle",
    "use:silent": "silent, unknown",
}

RELATIONS = {
    "other_end": "is the other end of",
    "ends_at": "ends at",
    "goes_to": "goes to",
    "joined": "is joined with",
    "plugged": "is plugged into",
    "fed_by": "is fed by",
    "carries": "carries",
    "in": "is in",
    "mounted_at": "is mounted at",
    "owned_by": "is owned by",
    "serves": "serves",
    "alias_of": "is the same as",
    "beside": "is next to",
    "above": "is above",
}

ACT_WORDS: dict[str, str] = {}
"""Acts that read better in other words than their name."""

KINDS = {
    "end": "end of a cable",
    "outlet": "outlet",
    "unit": "unit",
    "position": "place of a unit",
    "block": "field of rows",
    "incoming_line": "incoming line",
    "temporary": "temporary work",
    "jotting": "jotting of a phone",
    "scan": "picture under a floor",
}
