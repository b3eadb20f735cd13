"""The fixed sentences of the first page and of the book."""

from __future__ import annotations

FIRST = {
    "touch": "Do not touch",
    "dark": "Dark now",
    "against": "Where the record contradicts itself",
    "changed": "What changed",
    "call": "Whom to call",
    "only": "only {}",
    "stay": "must stay alive",
    "hurt": "can hurt",
    "unplaced": "nobody noted on which wire: find it before anything is moved",
    "no_guard": "Nothing is noted as protected. That says little: ask before you touch what you do not know.",
    "no_dark": "By the record everything that must live lives. Look at the lamps all the same.",
    "no_against": "No claim stands against another, and no field has two accounts.",
    "no_change": "Nothing was noted in this time.",
    "no_call": "No company and no role is noted. Ask who is responsible and write it here:",
    "more_touch": "{} more rows: the do-not-touch page of the book, or the verb if-cut",
    "more_changed": "{} more: site --list history",
    "more": "{} more: site --all",
    "service_off": "off: {}",
    "no_way": "no way to it stands in the record: look whether it works",
    "unknown": "nobody noted how it lives: ask, and look whether it works",
    "no_power": "has no power by the record: look",
    "no_data": "no data reaches it by the record: look",
    "begun": "The record was begun on {}; it holds {} entries. All that was found is in the book.",
    "write_here": "______________",
    "sheet": "Nothing is cut until it is known what it is not. Silent is not idle. Volts first, on every pair, DC and AC.",
}

SINCE_VISIT = "since {}, when the last visit began ({})"
SINCE_DAYS = "since {}"

CHANGED = {
    "new": "new {}",
    "now": "now {}",
    "noted": "noted anew",
    "read": "read: {}",
    "struck out": "said in error and struck out",
    "decided": "a proposal was {} by",
    "claimed": "said anew: {}",
}
"""How a group of entries is headed; acts stand under their own name."""

PAST_ACTS = {
    "cut": "cut",
    "connect power": "power connected",
    "disconnect power": "power disconnected",
    "exchange tags": "tags exchanged",
    "join": "joined",
    "mend": "mended",
    "move": "moved",
    "part": "parted",
    "plug in": "plugged in",
    "put in": "put in",
    "re-tag": "tagged anew",
    "set mode": "mode set",
    "split": "found to be two things",
    "swap": "swapped",
    "take off": "taken off",
    "take out": "taken out",
    "terminate": "terminated",
    "turn off": "turned off",
    "turn on": "turned on",
    "unplug": "unplugged",
}

BOOK = {
    "title": "{}: the book of its wires",
    "as_of": "as of {}",
    "touch": "Do not touch",
    "plans": "Plans of the floors",
    "closet": "The closet, as one stands before it",
    "riser": "What hangs on what",
    "outlets": "Register of outlets",
    "ends": "Register of ends",
    "runs": "Runs: where they go and what they carry",
    "power": "Ports and power",
    "order": "Order of removal",
    "problems": "What is wrong, worst first",
    "cautions": "Cautions",
    "grades": "How sure: legend of the grades",
    "limits": "Where the limits come from",
    "rest": "Everything else by kind",
    "letters": "Letters that no face of this book has",
    "index": "Index by tag",
    "index_says": "Every tag in this book: what it is, in which chapter it stands, and on which page (heavy).",
    "side": "its {} edge lies on sheet {}",
    "piece": "sheet {} of {}",
    "overlap": "neighbours share a strip of {} mm",
    "scale": "{} at 1:{}",
    "sketch": "{}, a sketch of boxes, not to scale",
    "floor": "floor {}",
    "no_floor": "rooms of which nobody noted the floor",
    "no_plan": "Rooms without corners in the record are not drawn: {}.",
    "nothing_drawn": "No room has corners in the record, so no plan is drawn.",
    "no_closet": "No closet, block or loose end is noted.",
    "no_riser": "Nothing is known to hang on anything.",
}

HOW_TO = (
    "Before you touch anything: page {touch}. What is listed there is touched only by whom it names.",
    "You hold an end: find its tag in the register of ends, page {ends}; it says where it goes, on which port it sits, and "
    "whether you may touch it.",
    "You stand at an outlet: page {outlets}. You look for any other tag: the index is at the very end, page {index}.",
)

REGISTERS = {
    "mains": "licensed electrician: mains in the box",
    "only": "only {}",
    "giving": "What gives power, port by port",
    "stay": "What must stay alive, and on what it hangs",
    "alone": "Each of these alone ends a service that must stay",
    "hurt": "What can hurt",
    "call": "Whom to call",
    "guarded": "Only these may touch",
    "rings": "Rings of the network",
    "temporary": "Left as it is for now",
    "nothing_out": "Nothing is noted as out of use, so nothing is to be removed.",
    "nothing_wrong": "Nothing wrong was noticed.",
    "order_says": "What is noted as out of use, in an order in which nothing that must stay goes dark. One at a time; listen; "
    "stop at once when one that must live falls silent.",
    "grades_says": "An answer is as strong as the weakest claim it stands on. Odds and ages are ours, assumed, and may be edited.",
    "limits_says": "Limits that runs of this house are held against; a standard's number and our own estimate are never mixed.",
    "taken": "Taken for granted: {}.",
    "rules": "Local rules noted in the record",
    "letters_says": "These letters stand in the record and are printed here as their codes.",
    "found_in": "found in",
}

LADDERS = {"place": "where it goes", "carry": "what it carries", "reading": "a reading"}
GRADES = {
    "assumed": "by its look, or by habit; nobody said or saw it",
    "told": "somebody said so, or an old label does",
    "seen": "seen by eye, or by running metre marks",
    "toned": "isolated, and the tone confirmed at the other end",
    "pinned out": "every conductor was followed",
    "ran": "a device ran over it: at which rate, over which pairs, on which day",
    "qualified": "a tester found that it carries the rate",
    "certified": "measured against a standard's limits",
    "metered": "read with a meter",
}
BESIDE_GRADES = (
    ("contradicted", "another saying of the same or a higher grade stands against it"),
    ("stale", "older than its age, or worked on nearby since: look or test again"),
    ("two accounts", "two people noted different things, and nobody settled it"),
    ("silent", "nothing heard or read on it; silent is not idle"),
    ("out of use", "volts DC and AC read and none found, no tone, not protected, owner told"),
    ("dead", "a device that failed on a port and cord known to be good, in the right mode"),
)
SOURCES = (
    (
        "classes of power 0 to 8; at most 57 V at a port",
        "IEEE 802.3 clauses 33 and 145",
        "watts read; volts and ohms from memory",
    ),
    (
        "24 V always-on at the device",
        "Ohm's law with a constant load; plus on 4-5, minus on 7-8",
        "computed; the pins by practice",
    ),
    ("ohms of copper by gauge and warmth", "ASTM B258; IEC 60028; NEC chapter 9, table 8", "read, some from memory"),
    ("permanent link 90 m, no splice or tap in it", "TIA-568", "read"),
    ("reach 100 m at 100 and 1000 Mb/s", "IEEE 802.3 clauses 25 and 40", "from memory"),
    ("reach 183 m at 10 Mb/s", "1000 ns of IEEE 802.3 clause 14 at 545 ns for 100 m", "computed"),
    (
        "capacitance 52 nF/km of telephone cable, 56 and 66 pF/m of data cable",
        "common practice; TIA-568",
        "from memory",
    ),
    ("colours of 25 pairs, T568A and B; rack unit 44.45 mm", "25-pair code; TIA-568; EIA-310", "read"),
    ("how likely a claim of each grade is, and when it is stale", "ours", "assumed; edit to your own experience"),
)

OTHER = "All other tags"
TABLES_OF_KINDS = {
    "building": ("Buildings", "name; era as built; electrode as earth electrode; lightning"),
    "floor": ("Floors", "name; building as in; z_m as height; ceiling_m as to the ceiling"),
    "room": ("Rooms", "name; floor as on; use; access; allowed_work as allowed work; old_names as old names"),
    "cable": ("Cables", "jacket; pairs; length_m as length; look; reserved"),
    "joint": ("Joints", "style as kind; room as in; ends as joins; condition; access"),
    "pathway": (
        "Ways in which cables run",
        "style as kind; rooms; condition; fire_stop as fire stop; pull_string as pull string",
    ),
    "unit": ("Units", "name; model; room as in; address; *fed_by as fed by; login; protected_by as only"),
    "model": ("Models", "what; takes; class; max_w as at most; budget_w as can give"),
    "position": ("Places of units", "name; room as in; mount as on; label; channel"),
    "block": ("Fields of rows", "style as kind; rows; room as in"),
    "rack": ("Racks", "room as in; height_u as rack units"),
    "circuit": ("Mains circuits", "name; breaker; turned as last turned; board as breaker is in"),
    "switch": ("Mains switches", "name; room as in; *fed_by as fed by; turned as last turned"),
    "socket": ("Mains sockets", "name; room as in; form as kind; *fed_by as fed by"),
    "network": ("Networks", "name; range; gateway; who as who is on it"),
    "incoming_line": ("Incoming lines", "name; medium; provider; cable; enters_at as enters at; label"),
    "service": ("Services", "name; for_whom as for whom; hours; keep as must stay; protected_by as only"),
    "hazard": ("Hazards", "style as kind; where; sample; says as what"),
    "temporary": ("Temporary work", "what; on; must_end as gone by; ended"),
    "box": ("Boxes of spares", "room as in; place; looks_like as looks like"),
    "part": ("Spares", "what; count; box as in; condition; takes"),
    "bond": ("Bonds to earth", "joins; conductor; condition"),
    "wall_type": (
        "Kinds of walls",
        "name; thickness_m as thick; loss_2g4_db as loss at 2.4 GHz; loss_5g_db as at 5 GHz",
    ),
    "photo": ("Photographs in the record", "of; shows; when_taken as taken"),
}
"""Kinds that get a table at the end of the book: their title, and their fields with the words above them; `*` is a relation."""

COVER = {
    "says": "What was found, how sure it is, what it carries, and what must not be touched; as of {}.",
    "site": "site",
    "as_of": "as of",
    "record": "the record holds",
    "entries": "{} entries",
    "rules": "rules, verify locally",
}

SCHEDULE = {
    "title": "{}: cable schedule and port table",
    "footer": "site {}, as of {}, rules {}, verify locally",
    "cables": "cable schedule",
    "ends": "ends",
    "outlets": "outlets",
    "ports": "port table",
    "judged": "power by port",
    "tests": "next tests",
    "empty": "nothing is noted",
}

BLANKS = {
    "title": "{}: blank sheets",
    "left_out": "Ends that only others may touch are left out.",
    "fields": "site|day|role that writes|about (tag or room)",
    "foot": "Photograph the whole sheet, flat, with its code. The photograph is attached to what stands under about, or to "
    "the tags on it. Leave a row empty rather than guess; write ? for what you do not know. No names, no codes, no keys.",
}
FORMS: dict[str, dict[str, str]] = {
    "ends": {
        "letter": "E",
        "kind": "end",
        "title": "Ends of cables",
        "says": "One row for each end, as it is found, before anybody knows where it goes. Write what stands on it.",
        "columns": "end 20|cable 20|in room 34|found 42|old label 28|sits on 36",
    },
    "plates": {
        "letter": "O",
        "kind": "outlet",
        "title": "Plates and outlets",
        "says": "Mains in the same box: shut it at once, write mains, leave it.",
        "columns": "outlet 20|in room 34|plate, jacks 32|jackets behind 24|condition 30|mains in it? 20|old label 20",
    },
    "readings": {
        "letter": "R",
        "kind": "end",
        "title": "Readings of the meter",
        "says": "Volts DC, then AC, on every pair before anything else. Volts on it: stop, write them, touch no more.",
        "columns": "end 20|pair 14|volts DC 20|volts AC 20|loop, ohm 22|far end is 24|nF 16|meter 22|time 22",
    },
    "tone": {
        "letter": "T",
        "kind": "end",
        "title": "Tone: sent and heard",
        "says": "Only on what was metered and found without volts. Heard: loud, faint, nothing, or not looked.",
        "columns": "sent on 20|pair 14|heard at 32|loud 16|faint 16|nothing 18|not looked 20|remark 44",
    },
    "ports": {
        "letter": "P",
        "kind": "port",
        "title": "Ports and what is plugged in",
        "says": "As it is now, before any plug is pulled. Lamp: on, off, blinks.",
        "columns": "port 24|gives 28|plug or cable 30|goes to 34|lamp 18|setting saved? 22|remark 24",
    },
    "photographs": {
        "letter": "F",
        "kind": "photo",
        "title": "List of photographs",
        "says": "Before, during, after. No faces, no papers, no keys, no codes in the picture.",
        "columns": "number 22|of (tag) 34|shows 56|looking 24|before, during, after 26|who may see 18",
    },
}
"""The forms: a letter for their number, the kind whose tags may be filled in, and columns with their widths in mm."""

FOLDER = {
    "as_of": "Made from the record as of {}.",
    "old": "From an earlier print",
    "old_says": "These were not made anew and may be out of date; each bears its own day.",
    "first_pdf": "the first page: one sheet, black only",
    "first_html": "the first page in the browser",
    "book": "the book: everything, with an index by tag",
    "floor_svg": "{} as a drawing",
    "floor_pdf": "{} at 1:{} on paper",
    "closet": "{}, as one stands before it",
    "riser": "what hangs on what",
    "tables": "cable schedule and port table as a workbook",
    "blanks": "blank sheets for handwriting",
    "walk": "walk sheet: what to do next, in the order of walking",
    "labels": "labels: {}, {}",
    "card": "port card for the closet door",
}

SAID_OF = {
    "first": "first page",
    "book": "book",
    "plans": "plans",
    "closet": "closet",
    "riser": "what hangs on what",
    "labels": "labels",
    "tables": "workbook",
    "blanks": "blank sheets",
    "walk": "walk sheet",
    "signal": "signal",
}
"""How progress names each paper."""

NEVER = ("key", "season", "person", "price", "change_order")
"""Kinds of which not even the tag prints: where keys hang, when rooms stand empty, who somebody is, what it costs."""
