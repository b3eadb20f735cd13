"""The fixed sentences of tracing: states, findings, acts, cautions, and what is taken for granted."""

from __future__ import annotations

STATES = {
    "sure": "nearly certain",
    "no cable": "nearly certain",
    "likely": "likely",
    "tie": "a tie",
    "open": "open",
}
STANDS = {
    "run": "a run of its own",
    "chain": "one of a chain",
    "chain member": "one of a chain",
    "ring": "on a ring",
    "no cable": "no cable of its own here",
    "no cable here": "no cable of its own here",
    "fed from elsewhere": "fed from elsewhere, no end of its own here",
    "unknown": "nobody knows yet",
}
END_STANDS = {
    "goes to": "goes to {0}",
    "ring": "one ring with {0}",
    "clip": "joined by a clip with {0}: lift the clip and try again",
    "bridged": "joined by a clip with {0}: lift the clip and try again",
    "cut": "ends inside the wall, about {0} from here",
    "splice": "a hidden splice: {0}",
    "hidden splice": "a hidden splice: {0}",
    "protected": "protected: only {0}",
    "live": "live: find what it serves",
    "elsewhere": "goes elsewhere: {0}",
    "stub": "a stub that goes nowhere",
    "coil": "a coil with nothing at its far end",
    "clip lifted": "was joined by a clip with {0}, now lifted",
    "plugged": "plugged in at both ends",
    "fibre": "fibre: no pair in it",
    "removed": "taken out",
    "planned": "planned only",
    "coax": "coax: no telephone or data pair in it",
    "lost": "its far end is lost",
    "unknown": "nobody knows: {0}",
}
LEFT_OUT = {
    "protected": "only its company may touch it",
    "live": "it is live",
    "coax": "coax has no pair to trace",
    "fibre": "fibre has no pair to trace",
    "coil": "its far end is a coil",
    "plugged": "it is plugged in at both ends",
    "elsewhere": "it is known to go elsewhere",
    "cut": "it was found cut",
    "stub": "it is a stub",
    "lost": "its far end is lost",
    "removed": "it was taken out",
    "planned": "it is planned only",
    "other closet": "it ends in another closet",
}
REPEAT_WHY = {
    "contradiction": "it does not fit the others",
    "source": "its instrument may have been silent then",
    "stuck": "its number was heard where it cannot have been",
    "label": "everything else says otherwise",
}
DOUBTS = {
    "silent": "{source} may have been silent for a while, its battery flat: {count}. Try it on a run that is known, then repeat",
    "dead": "{source} is read nowhere: {count}. Try it on a run that is known before it counts again",
    "stuck": "{source} is read everywhere: {count}. Try it on a run that is known before it counts again",
    "bleeds": "The tone bleeds over more than is usual here; loud on one end alone proves nothing until a short stops it",
}
UNSURE_WHY = {
    "tie": "what was read fits them alike; only another reading parts them",
    "not worth its time": "finding out takes longer than it is worth now",
    "not reachable": "nobody can get at it now",
    "untouchable": "nothing may be put on it now: it carries volts, is protected, or shares its box with mains",
    "in use": "it is likely on a line in use: unplug that first, with a word to whoever uses it",
    "likely live": "it is likely on a wire that carries volts or that others alone may touch",
    "no kit": "the kit at hand cannot tell",
    "open": "too little was read of it",
}
STOPS = {
    "all sure": "Enough: everything that can be traced is settled. Accept what is proposed, then label it.",
    "not worth": "Stop here: what is left is not worth its time. It stays open, and is said to be open.",
    "no kit": "Nothing at hand can tell more. Noted kit would: see below.",
    "nothing": "There is nothing to trace: no outlets or no ends are noted.",
    "blocked": "What is left may not be touched now: see what stands in the way.",
}
KIT_FRANK = {
    "one tone": "One tone is sure, not quick: it takes about as long as careless practice, or longer, and is right far more often.",
    "marks": "Marking every end at once and walking once is several times quicker than one tone.",
    "plugs": "Scrap plugs with pairs shorted in different ways would do as marks, and cost nothing.",
    "resistors": "Resistors on outlets need one walk out and one round at the board; they tell chains and clips as well.",
    "remotes": "More numbered remotes mean fewer walks; more of them than outlets are no use.",
    "continuity": "With a continuity tester alone two trips part the wires of one cable; see --two-trips.",
    "none": "No kit is noted.",
}
ASKS_TRACE = {
    "kit": "What is at hand to test with: a tone set and probe, numbered remotes, plugs, resistors, a meter? The next act depends "
    "on it; note it once in the table kit.",
}
STRENGTH = (
    (4.6, "speaks strongly"),
    (2.3, "speaks clearly"),
    (0.69, "speaks"),
    (0.1, "speaks a little"),
    (0.0, "hardly speaks"),
)
"""By the natural log of how many times likelier it makes it: a hundred, ten, two, a tenth more; less."""
ACTS = {
    "place tone": "Put the tone on {at}",
    "take off tone": "Take the tone off {at}",
    "place remote": "Put remote {what} on {at}",
    "take off remote": "Take remote {what} off {at}",
    "touch": "Touch {at} with the probe",
    "touch set": "Touch {what} together with the probe",
    "clip": "Clip the reader on {at}: which numbers?",
    "mark": "Put mark {what} on {at}",
    "read": "Read with the tester at {at}: what does it show?",
    "walk": "Walk to {at}",
    "tag": "Tag {at}",
    "resistor": "Clip {what} on {at}",
    "ohms": "Read the ohms of {at}",
    "meter": "Meter volts DC, then AC, on every pair of {at}",
    "self-check": "Try {what} on a run that is known",
    "lift clip": "Lift the clip between {at}",
}
WITH = {
    "place tone": "tone set",
    "take off tone": "",
    "place remote": "numbered remote",
    "take off remote": "",
    "touch": "probe",
    "touch set": "probe",
    "clip": "reader",
    "mark": "mark",
    "read": "tester",
    "walk": "",
    "tag": "tag",
    "resistor": "resistor",
    "ohms": "meter",
    "meter": "meter",
    "self-check": "",
    "lift clip": "",
}
STEP_CAUTIONS = {
    "volts": "Volts first: DC, then AC, on every pair. No tone, ohms or resistor before.",
    "alarm": "This may be an alarm loop: its company first. No tone, ohms or resistor before.",
    "company": "Only its company may touch this.",
    "mains": "Mains in the same box: leave it shut; a licensed electrician first.",
    "ladder": "Ladder: somebody holds its foot; not alone in the house.",
    "outdoors": "Outdoors: not in storm, wet or dark.",
    "wet": "Wet: nothing that is powered goes on it.",
    "broken": "Broken plate: mind sharp edges and bare wires.",
    "corroded": "Corroded: what reads open here may be its contact.",
    "furniture": "Furniture stands before it: two people move what is heavy.",
    "access": "Ask how to get in before you go.",
    "key": "Locked: ask for the key before you go.",
    "season": "This room may be let: ask before you go.",
    "hours": "There are hours in which nobody works here: ask before you go.",
    "way_up_not_noted": "Nobody noted how one gets up there: look before you climb, bring boards to step on.",
    "hazard mains": "Mains near by: leave it shut; a licensed electrician first.",
    "hazard": "Something here can hurt: read the hazards of this room first.",
    "isolate": "Take the pair off the block before the tone goes on; a clip lets the tone through.",
}
NOT_ON_PAPER = ("key", "season")
"""Paper is left behind: it does not tell what is locked, nor when a room stands empty."""
GUARD_WHY = {
    "volts not read": "its volts DC and AC were not read yet",
    "live": "it carries volts",
    "protected": "only its company may touch it",
    "alarm": "it may be an alarm loop and its company was not told",
    "company not asked": "its company was not asked yet",
    "mains in box": "it shares its box with mains",
    "in use": "it is likely on a line in use: unplug that first",
    "likely live": "it is likely on a wire that carries volts or that others alone may touch",
    "not reachable": "nobody can get at it now",
}
ORDERS_MANY = {1: "one alone", 2: "up to two", 3: "up to three", 4: "up to four"}
APART = {
    "surely": "yes, however far parts and meter are off",
    "likely": "yes, unless parts and meter are off the same way",
    "nearly": "nearly: a reading may fit two; taking one clip off decides",
    "no": "no",
}
DECODED = {
    "run": "goes to {outlets}",
    "chain": "goes to {outlets}, one after the other on one cable",
    "bridge": "joined here with {others}: the clips of {outlets} are read on each; lift the joining clip and read again",
    "ring": "one ring with {others}, with {outlets} on it",
    "bare": "none of the outlets that bear a resistor",
    "something else": "something else is connected: stop, it may be an alarm loop; its company first",
}
DECODED_SHORT = {
    "run": "{outlets}",
    "chain": "{outlets} in a chain",
    "bridge": "{outlets}, joined with {others}",
    "ring": "{outlets}, a ring with {others}",
    "bare": "none of ours",
    "something else": "something else",
}
TWO_TRIPS = {
    "intro": "With a continuity tester alone, {0} wires of one cable are told apart in two trips.",
    "not": "{0} wires cannot be told apart in two trips by counting how many touch; do this instead.",
    "here": "At the closet tie these together",
    "there": "At the far end name each wire by how many touch it, then tie these names together",
    "pairs": "At the closet tie these in pairs and remember who is with whom; leave the others alone",
    "chain": "At the far end name what is alone 1 (and 2), each pair that touches the next two names; then tie these names",
    "named": "wires that touch in groups of {0} get the names {1}, in any order",
    "unchain": "Back at the closet, first ties off: what is alone and touches something is 1; what it touches is the first of the "
    "first pair, its old partner the second, what that touches begins the next pair, and so on; alone and touching nothing is 2.",
    "back": "Back at the closet, take the first ties off and read who touches whom",
    "caution": "Only on wires without volts, with nothing else connected at either end.",
}
ACCEPT = {
    "none": "Nothing is sure enough to accept, or everything sure stands in the record already.",
    "dry": "Shown only; nothing was written. Leave out --dry to write it.",
    "written": "{0} written as claims; each can be struck out again.",
    "already": "These were accepted before; nothing was written.",
}
ASSUMED_TRACE = {
    "trace_meter": "a meter reads ohms within 1 %, and parts are of the tolerance noted",
    "trace_line": "the wire of a house run adds 0 to 20 ohm",
    "trace_constants": "how instruments mislead, how old wiring is usually joined, and how long acts take are assumed: nobody "
    "measured them",
    "trace_prior": "how often an outlet has no cable, an end no outlet, and a clip is on is assumed",
    "trace_costs": "seconds of acts and of walking are assumed",
    "trace_no_clip_unless_noted": "rows on which nobody noted a clip are taken as not joined",
    "trace_placed_stays": "what was placed is taken to stay until somebody says it was taken off",
    "trace_lengths": "the slack of a run beyond its way along the walls is assumed",
    "trace_jackets": "how often a jacket changes on the way is assumed",
    "trace_block_too_large": "more ends may be joined than can be weighed; the least likely joinings are left out",
    "trace_walk_guessed": "walking times are guessed where no plan tells them",
}
NOT_USED = {
    "unsorted": "a jotting that nobody sorted yet",
    "no thing": "it names nothing that is traced",
    "untraced": "it is about something that takes no part",
    "unread": "it is not written so that it can be read",
    "nothing placed": "nothing was placed that it could have heard",
    "between outlets": "it is between two outlets, and no end is named",
}
WALK = {
    "title": "Walk sheet",
    "of": "{0}: walk sheet",
    "says": "In this order. Tick what is done, write what you read; “nothing” and “not looked” are two different things. "
    "Did something else? Write it down, it counts.",
    "volts": "Only on wires that were metered: volts DC, then AC. Anything that surprises: stop, write it, ask.",
    "fields": "day and time|role that walks",
    "columns": "step|done|what|with|what you read",
    "long": "about {0}, of which {1} walking",
    "nothing": "There is nothing to walk for now.",
    "at": "{0}: {1}",
    "clips": "Resistors: which value on which outlet",
    "clip_columns": "outlet|room|first its volts: DC, AC|value|clipped on|taken off",
    "base": "At the board, before anything is clipped on, read the ohms of each end: {0}.",
    "base_columns": "end|before|with clips",
    "foot": "Photograph the whole sheet, flat, with its code; or enter what was read with the phone. No names, no codes, no keys.",
}
BY_ODDS = (
    "{end} was traced by odds only: {chance} that it leads to {outlet}, where {keeps} must stay. What settles it: volts first, "
    "then an isolated tone on {end}, confirmed by a short at {outlet}."
)
METHODS = {
    "tone": "isolated tone, confirmed by a short",
    "remote": "numbered remote read at the other end",
    "plug": "coded plug read at the other end",
    "resistor": "resistor of ours read at the other end",
    "marks": "running metre marks",
    "tone heard": "tone heard, not confirmed by a short",
    "left over": "by odds and by what is left over",
}
METHOD = "{how}; traced with odds of {chance}"
