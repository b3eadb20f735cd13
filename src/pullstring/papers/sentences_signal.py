"""The fixed sentences of signal: lines of the key, reasons why nothing is known, what is taken for granted."""

from __future__ import annotations

from pullstring.papers.sentences_scene import READING_TEACHES_NOTHING

KEY = {
    "signal agreed": "thick: {0} dBm, the agreed edge",
    "signal plain": "thin: equal level, its number in dBm",
    "signal weakest": "dotted: the weakest line drawn",
    "signal unknown": "hatched: not known",
    "signal read": "cross: read there, in brackets what is predicted",
    "signal read of": "cross: read there, in brackets what is predicted; with of, of that access point alone",
    "signal doubted": "with ?: does not fit the others, read it again",
    "signal next": "open cross: read here next",
}
ON_PLAN = {
    "line": "{0} dBm",
    "none": "none",
    "of": "of {0}",
    "next": "read next in room {0}",
    "nothing": "On this floor no level is known.",
    "all above": "All that is known on this floor lies above the agreed edge of {0} dBm.",
    "all below": "All that is known on this floor lies below the agreed edge of {0} dBm.",
    "between": "The agreed edge of {0} dBm falls into walls here: each room lies wholly above or wholly below it.",
}
WHY_NOT_KNOWN = {
    "no_sender": "no access point is known that could be heard there",
    "no_points": "nobody noted where the room lies",
    "too_wide": "too little is known of what lies between: one reading there would settle it",
}
NEED_WHY_NOT = {
    **WHY_NOT_KNOWN,
    "by_cable": "it is served by cable",
    "not_said": "no level and no known use was noted for it",
}
NEED_SO = {
    "way back": "the device's way back is weaker",
    "words_not_known": "no known use: its level counts",
    "band_of_device": "such a device seldom knows the band noted",
}
READING_WHY = {
    **READING_TEACHES_NOTHING,
    "no_sender": "what was heard is not on the plan",
    "not_sent": "nobody there sends that band",
    "unclear": "it may be one access point or another: note which",
    "aside": "set aside until it is read again",
}
AGAIN = {
    "first": "Does not fit together, so read it again: {0}{1}.",
    "so": "does not fit: read it again",
    "teaches nothing": "teaches nothing: {0}",
    "alone": "Read again: {0} does not fit what all others tell, by {1} dB.",
    "against": "Read again: {0} does not fit, by {1} dB, above all not with {2}.",
    "pair": "Read again: {0} and {1} at the same spot on the same day, {2} dB apart.",
    "aside": " Nothing is learned from it until then.",
}
LIMITS = {
    "people_and_furniture": "People, furniture, damp and drawing errors move a level by 4 to 6 dB; the ranges hold that.",
    "local_mean": "A level is the mean over about a metre; at one spot a device reads up to 6 dB more or less.",
    "air_rules": "Channels follow the rules of the place as noted, and noted powers are held against them; verify both locally.",
    "fewer_paths": "So large a property is followed along fewer ways: round corners and by reflection a level may be higher.",
    "one_device": "One device was used; another one reads differently.",
}
LEFT_OUT = {
    "told": "Left out one by one and predicted from the others, readings are off by {0} dB ({1} dB before learning).",
    "told alone": "Left out one by one and predicted from the others, readings are off by {0} dB.",
    "none": "How far off the prediction is cannot be said: there are too few readings to leave one out.",
}
SAID = {
    "moved": "As it would be if {0} stood on floor {1} at x {2:g} m, y {3:g} m; nothing was written. Take it for a look: "
    "fewer points and worlds are worked out than for the whole answer.",
    "offset": "{0} reads {1} dB {2} than a plain antenna would ({3} to {4}), if the access points radiate what is noted or taken.",
    "next": "Read next in {0}: {1}; it narrows the room that gains most by {2} dB.",
    "in order": "In this order: the minutes are from the place before.",
    "read there": "Read there, not predicted: {0}.",
    "how to read": "Turn slowly within a circle of one metre and note the middle of five readings; none heard is a reading too.",
    "as device": "Levels are told as {0} reads them.",
    "as plain": "Nothing was read yet: levels are those of a plain antenna; a phone shows 3 to 10 dB less.",
    "nobody sends": "No access point is known, so no level can be predicted.",
    "or read": "Note one with its model and its place, or enter what is read in a room.",
    "no rooms": "No room is noted, so there is nothing to answer for.",
    "no next": "No further reading would change much.",
    "distance": "The level falls with distance to the power {0} ({1} to {2}); in free space it is 2.",
    "columns": "First what nine tenths of a room have or more, in brackets where that lies with 4 chances in 5; then what "
    "half of it has; who serves, and who could take over there.",
}
ASSUMED_SIGNAL = {
    "signal_priors": "losses of walls and powers of access points are as their class has them, with a wide spread, until read",
}
PAPER = {
    "sheet": "Signal on floor {0}, {1}, 1:{2}",
    "rooms": "Floor {0}, room by room",
    "chapter": "Signal, room by room",
    "title": "Signal at {0}",
    "foot": "site {0} · as of {1} · what is predicted is blue, verify where it matters",
    "svg": "signal on floor {0}, {1}, as a drawing",
    "pdf": "signal on every floor, and each room in sentences",
    "too large": "{0}: the drawing is {1} by {2} mm and fits no sheet up to A0; draw it at a smaller scale",
    "none": "signal: no access point and no reading is noted, so there is nothing to draw",
}
PAGE = {
    "enter": "Enter a reading",
    "keep": "Keep the reading",
    "wait": "Kept; the answer is worked out anew.",
    "no level": "Write the level that was read, or tick none heard.",
    "not a level": "A level lies between -130 and 0 dBm, such as -66.",
    "half a place": "A place needs both x and y, or neither.",
    "how to read": "Turn slowly within a circle of one metre and take the middle of five readings. Each is one row of the "
    "record and can be struck out again.",
    "rest": "What readings taught, what is needed, channels, the air, links, what is taken for granted",
    "not in band": "nobody sends this band there",
    "same": "same",
    "move": "access point {0}: drag it, or move it by half a metre with the arrow keys; Escape puts it back",
    "no drawing": "This floor has no outline and no wall yet, so its signal cannot be drawn; its rooms stand below.",
    "no sender": "Without an access point there is no signal to draw.",
    "moved": "If {0} stood at x {1} m, y {2} m: {3}.",
    "better": "{0} better",
    "worse": "{0} worse",
    "no change": "no room changes",
    "stale": "The lines still show it where it stands.",
    "columns": "In nine tenths of a room the level is the first one or more; heavy is the agreed edge or above it. 4 in 5: where "
    "that level lies with four chances in five.",
}
AIR = {
    "nobody": "nobody",
    "feeds": "Feeding an access point without twisted pair",
    "rules named": "By the rules {0} ({1}); verify locally.",
    "rules not named": "The property's row names no rule set, so {0} is taken ({1}). Channels are held for {3}: note one as "
    "rule_set, and verify locally.",
    "rules not held": "No channels are held for the rules {2} that the property's row names, so {0} is taken ({1}). They are held "
    "for {3}; verify locally.",
    "no such channel": "{0} is noted on channel {2} of {1}, which the rules {3} do not allow: set another, and verify locally.",
    "too strong": "{0} is noted with {4} dBm on {1}; the rules {3} allow {5} on channel {2}: turn it down, and verify locally.",
    "arrives": "What arrives at the access point, as rates on the air: with all hops on one radio and channel, and with a radio "
    "and channel of its own for each. Devices on the same radio take from it once more.",
    "taken as fed": "No access point is noted as fed by wire, so those that are there are taken as fed.",
    "not reached": "nothing reaches it",
    "then": " to ",
    "hops": "mesh, {0} hops on one radio",
    "of one hop": "{0} of the rate of one hop; a radio of its own between the access points takes that back",
    "practice": "Common practice, not a standard: try it on the spot before it is promised.",
    "no link": "{0} of them get no link there and count as slowest",
    "one no link": "one of them gets no link there and counts as slowest",
    "all clear": "all",
    "cut": "cut",
    "busy": "busy: others wait long",
    "far too much": "does not fit",
    "same": "{0} ({1} dB too loud)",
    "partly": "{0} (partly, {1} dB too loud)",
    "must keep": "must stay",
    "keep": "stays",
    "nothing much": "under 1 %",
    "set": "not noted: to be set",
    "change": "to be changed",
    "narrow": ", less than wanted",
    "radar": ", must listen for radar first",
    "free": "no two on one channel hear each other",
    "overlap": "overlap {0} dB in all",
    "proven": "no plan is better",
    "not proven": "a better plan was not ruled out",
    "as now": "; as it is now {0} dB",
    "near": "{0} higher at the first",
    "far": "{0} higher at the second",
    "both": "{0} higher at both",
    "high enough": "high enough",
    "no height": "no height that was looked at is enough",
}
LINK = {
    "wall": "a wall stands in the way",
    "roof": "a roof stands in the way",
    "tree": "trees stand in the way",
    "trees_grow": "Trees grow, and wet leaves take more than dry ones: look again each summer.",
    "ground": "the ground itself comes too near to the line",
    "spared": "To spare is over the level for 100 Mb/s on a channel of 40 MHz.",
    "ground_unknown": "The heights of the ground are not known and were left out.",
    "power_assumed": "What an end radiates was not noted: taken as 20 dBm.",
    "in the way": "{0} to {1}: {2}.",
}
