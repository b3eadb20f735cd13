"""The fixed sentences of what goes dark: why a service is listened to."""

from __future__ import annotations

LISTEN_WHY = {
    "said_to_be": "somebody said that this wire goes there",
    "same_label": "the same label",
    "tag_alike": "nearly the same tag",
    "next_row": "the next row",
    "same_look": "the same look",
    "same_hole": "the same hole",
    "nearest": "nothing is like it; the first that must stay",
    "hangs_on_it": "it hangs on what is pulled",
    "noted_on_it": "it is noted on this wire; nobody knows whether it falls silent",
    "loses_power": "it loses its power",
}
