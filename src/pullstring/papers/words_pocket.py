"""Words of the pocket page that the laptop gives it: what can be answered to an act, and why there is none."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from pullstring.papers.phrases import said as sentence
from pullstring.papers.phrases import thing
from pullstring.papers.sentences_trace import STOPS
from pullstring.papers.words_trace_acts import act_says, act_where, act_with, cautions_of, how_long

FIELDS = {
    "remotes heard": "Numbers read",
    "word read": "Pairs that read closed",
    "resistance": "The meter shows",
    "volts DC": "Volts DC",
    "volts AC": "Volts AC",
}
"""What stands above the keys."""
UNITS = {"ohm": ["ohm", "kohm", "Mohm"], "volts": ["V", "mV"]}
"""Units to choose from, by what an answer asks for."""
CARE = {
    "isolated": "pair off the block",
    "confirmed": "stops when shorted there",
}
"""What makes a tone sure, to be ticked when it was done."""
DONE = {
    "": "Done",
    "place tone": "tone put on",
    "take off tone": "tone taken off",
    "tag": "tag hung",
    "lift clip": "clip lifted",
}
"""The button of an act after which nothing is read, and what is written down of it where it makes no row."""


def in_words(act: Mapping[str, Any], *, tone: str) -> dict[str, Any]:
    """What a person reads of an act; `tone`: where the tone is that is listened for."""
    says = act_says(act)
    return {
        "says": says if says.endswith("?") else f"{says}.",
        "tone": thing(tone) if tone else "",
        "where": act_where(act),
        "with": act_with(act),
        "long": how_long(act) if act["seconds"] + act["travel_s"] else "",
        "cautions": cautions_of(act),
    }


def no_act(stop: str) -> str:
    """Why there is nothing to do."""
    return sentence(STOPS, stop) if stop else ""
