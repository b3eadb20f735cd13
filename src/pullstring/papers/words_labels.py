"""What labels and tags say, and what is told of those that could not be made as they should."""

from __future__ import annotations

from collections.abc import Sequence

BANDS = {
    "protected": "DO NOT TOUCH",
    "reserved": "RESERVED FOR LATER USE",
    "temporary": "TEMPORARY",
    "24v": "24 V ONLY",
    "standard": "STANDARD POWER",
    "dead": "DEAD",
}
"""The words of each kind; they alone tell it on a printer without red."""

STICKER = {
    "24v": "24 V always-on; dark on a standard port",
    "standard": "{0}; never on a 24 V always-on port",
    "dead": "FAILED ON A KNOWN GOOD PORT",
}

WHY = {
    "no_floor": "{0}: no floor is known, so its found-tag stands in the identifier; note the floor of its room.",
    "stated_twice": "{0}: the label {1} stands on another link already, so this one got its own; change the label.",
    "stated_elsewhere": "{0}: its label names another floor or space than the one where it begins; look which is right.",
    "tag_taken": "{0}: something of another kind has the same tag, so its kind stands before it.",
    "own_tag": "no end in a closet of known floor, so the found-tag is the identifier: {0}.",
}

CLASS = {
    1: "Class 1: one equipment room, nothing beyond it.",
    2: "Class 2: one building with {0} spaces in which cables come together.",
    3: "Class 3: {1} buildings.",
    4: "Class 4: {2} sites.",
}

CARD_TITLE = "Ports in {0}"
CARD_NO_ROOM = "no known room"
CARD_NOT_SAVED = "{0}, not saved"
CARD_HAZARD = "Port {0}: what hangs there may be harmed. Unplug it and ask."
CARD_JACK = "open jack {0}"
CARD_COLUMNS = ("port", "gives", "what hangs there", "room", "link")
CARD_FOOT = "{0} · as of {1} · this card says what the record says; look before you plug"
CARD_ALWAYS = "Port {0}: 24 V always-on. Nothing but 24 V units goes there: anything else may burn."
CARD_OPEN = "Port {0}: open jacks on it, {1}. Blank them or switch the port off."
NOTHING = {
    "ends": "no cable end stands in this record",
    "outlets": "no outlet stands in this record",
    "ports": "no unit with ports and no panel with rows stands in this record",
    "protected": "nothing is noted as protected by a company",
    "reserved": "no cable is noted as reserved",
    "units": "no unit could get a sticker",
    "temporary": "no temporary work is open",
    "card": "no unit that gives power was noted",
}


def site_class(number: int, *, spaces: int, buildings: int, sites: int) -> str:
    """The class of a property with its reason."""
    return f"{CLASS[number].format(spaces, buildings, sites)} The standard's wording is from memory: verify locally."


def found_as(tags: Sequence[str], old_labels: Sequence[str]) -> tuple[str, str]:
    """The found-tag and the old label, as they are printed beside the identifier; empty where there is none."""
    said = f"found as {' and '.join(tags)}" if tags else ""
    return said, f"old label {', '.join(f'‘{label}’' for label in old_labels)}" if old_labels else ""


def goes_to(place: str, room: str, *, sure: bool) -> str:
    """Where a cable goes on, as far as known."""
    if not place and not room:
        return "far end not known"
    where = f"to {', '.join(part for part in (place, room) if part)}"
    return where if sure else f"{where}: told, not tested"


def at_outlet(outlet: str, room: str, *, sure: bool) -> str:
    """What stands under a link's identifier on the plate."""
    where = ", ".join(part for part in (outlet, room) if part)
    return where if sure else f"{where}: told, not tested"


def call(companies: Sequence[tuple[str, str]]) -> str:
    """Whom to call before anything is touched: what the company is, and its hours."""
    told = [f"{name} ({hours})" if hours else name for name, hours in companies]
    return f"Call first: {'; '.join(told)}" if told else "Ask first whose it is"


def reserved(day: str, role: str) -> str:
    """On which day a cable was reserved, and by whom."""
    return f"{day}, by {role}" if role else day


def gone_by(day: str) -> str:
    """When something must be gone."""
    return f"must be gone by {day}" if day else "no day is noted by which it must be gone"


def left_by(role: str, day: str) -> str:
    """Who left something as it is for now, and when."""
    return f"left by {role or 'nobody noted'}, {day}"


def known_to(roles: Sequence[str]) -> str:
    """Who knows of it."""
    return f"known to {', '.join(roles)}" if roles else ""


def no_code(tag: str) -> str:
    """A tag that no small code can hold."""
    return f"{tag}: printed without a code; a code holds plain capitals, digits and $ % * + - . / : only."


def no_room_for_code(tag: str) -> str:
    """A label that is too small for its code."""
    return f"{tag}: printed without a code, for it does not fit; take a larger label."


def cut(tag: str, words: str) -> str:
    """Words that did not fit."""
    return f"{tag}: “{words}” did not fit and was cut; take a larger label."


def lacking(tag: str, missing: str) -> str:
    """Letters that the packaged face does not have."""
    return (
        f"{tag}: the packaged letters lack {' '.join(missing)}; printed without the sign above, or as a question mark."
    )


def secret(tag: str) -> str:
    """A line that looked like a secret."""
    return f"{tag}: a line that looks like a secret was left out; codes and keys never print."


def no_rule(sheet: str) -> str:
    """A sheet without room for the rule."""
    return f"{sheet}: it has no room for the rule of 100 mm; measure a label instead."


def untested(unit: str) -> str:
    """A unit of which nobody knows whether it works."""
    return f"unit {unit}: no sticker, for nobody tested it; try it on a port that fits."


def called_dead(unit: str, port: str) -> str:
    """A unit that was called dead without the proof."""
    if not port:
        return f"unit {unit}: no sticker; it was called dead, but nobody noted the port it was tried on."
    return f"unit {unit}: no sticker; it was called dead on {port}, which is not known to be good and to fit."


def takes_unknown(unit: str) -> str:
    """A unit of which nobody noted how it is powered."""
    return f"unit {unit}: no sticker, for nobody noted how it is powered."


def own_supply(units: Sequence[str]) -> str:
    """Units that need no sticker."""
    return f"no sticker, for they are not powered over data wires: {', '.join(units)}."


def reserved_without_day(cable: str) -> str:
    """A reserved cable of which nobody knows since when."""
    return f"cable {cable}: reserved, but neither a day nor a note says since when; give the day."


def not_this_kind(tag: str, what: str) -> str:
    """A thing that was asked for and gets no such label."""
    return f"{tag}: no label of the kind “{what}” is made for it."


def nothing(what: str) -> str:
    """A kind of which there is nothing."""
    return f"{what}: nothing to print; {NOTHING[what]}."
