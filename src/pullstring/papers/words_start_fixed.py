"""The fixed sentences of the verb `start`, by the codes that the plan gives."""

from __future__ import annotations

PHOTOS = {
    "line_entry": "Where the internet line comes into the building: the cable outside and inside, and the first box it reaches.",
    "closet_wide": "The place where the cables come together: stand back, so that the whole wall is in the picture.",
    "closet_close": "The same place from an arm's length, so that every label can be read. Several pictures side by side.",
    "router": "The router or internet box{at}: front with its lights, then the back with its plugs.",
    "fuse_board": "The fuse board from outside, door shut, and any list of fuses that hangs beside it.",
    "guard": "The box or panel of the {about}, and the name and telephone number of the company on it.",
    "room": "{about}: one picture from the door, then every wall plate and socket close up.",
    "outbuilding": "{about}: the whole building from the main house, then where any cable enters it.",
    "attic": "The hatch or door to the attic and the one to the cellar, shut, and how one gets to them.",
    "outside": "Each side of the house from the ground, with roof antennas and cables on the wall.",
}

PHOTO_CAUTIONS = {
    "no_ladder": "no ladder, both feet on the floor",
    "do_not_unplug": "unplug nothing",
    "nothing_opened": "open nothing that is screwed or locked",
}

QUESTIONS = {
    "rooms": ("Which rooms are there, and on which floor is each?", "nothing can be sized or drawn without them"),
    "guards": (
        "Which of these hang on a telephone line: alarm, fire panel, lift, door phone, emergency call, card terminal?",
        "they must stay alive while old wires are sorted",
    ),
    "line_place": (
        "In which room does the internet line arrive, and where is the router?",
        "it is the one cable that must never be cut",
    ),
    "caretaker": (
        "Who is in the house, on which hours, on which number?",
        "somebody must take the pictures and open doors",
    ),
    "complaints": ("In which rooms does it fail, at what time of day, on which device?", "these rooms come first"),
    "guard_company": (
        "Which company looks after the {guards}, and on which number?",
        "only that company may touch its line",
    ),
    "closet": ("In which room do the old cables come together?", "the first hour is spent there"),
    "first_floor": ("Is the first floor the one at street level, or the one above it?", "the word means both"),
    "floors": ("On which floor is each of these: {floorless}?", "cables between floors take the most time"),
    "walls": (
        "What are the walls: stone, brick, timber, or plaster on metal mesh?",
        "it decides how many access points",
    ),
    "sockets": (
        "How many old telephone or network sockets are there, and in which rooms?",
        "old runs may save new holes",
    ),
    "dates": (
        "On which day and hour does the work begin, and when does it have to end?",
        "the last hours belong to tests and labels",
    ),
    "drilling": ("What may not be drilled, opened or seen? Is the building protected?", "it decides the routes"),
    "outbuilding_distance": (
        "How far is it from the house to: {far_unknown}?",
        "copper ends at about 90 m, and does not go between buildings",
    ),
    "medium": (
        "How does the internet come: telephone wire, fibre, coax, radio, mobile, satellite?",
        "it decides what may be moved",
    ),
    "keys": (
        "Which doors are locked, and who has the keys: attic, cellar, tower, closet?",
        "a locked door costs half a day",
    ),
    "speed": (
        "Which speed is paid for, and what does a test beside the router show?",
        "it tells the line's fault from the house's",
    ),
    "people": (
        "How many people and devices are there on the fullest day?",
        "it decides how many access points share the load",
    ),
    "outbuildings": ("Shall any other building have a connection?", "each needs a link of its own"),
    "built": ("When was the house built and last rewired?", "old paint, boards and wire need care"),
    "phone_signal": ("In which rooms does a mobile phone work?", "help must be within call"),
    "storeys": ("How many storeys are there, with cellar and attic?", "each is at least one more vertical run"),
    "papers": ("Are there old drawings, lists or bills of the wiring?", "each label found saves a search"),
}

WHOM = {"owner": "owner", "caretaker": "caretaker"}

UNTOUCHED = {
    "incoming_line": "incoming line, with everything that powers it",
    "router": "router and the provider's own box",
    "mains": "fuse board and everything on mains",
    "words": "as told",
}

STATE = {
    "told": "told: it is there",
    "possible": "not told: look for it",
    "denied": "told: there is none; look all the same",
}

CONCERNS = {
    "old_materials": (
        "The house dates from {number:.0f}: old paint may hold lead, boards and lagging may hold asbestos.",
        "no drilling in suspect board without a sample",
    ),
    "hazard": ("Told: {about}.", "ask where exactly, and keep away until it is clear"),
    "guards": (
        "The {about} may hang on the old wires that look idle.",
        "find its line first; only its company touches it",
    ),
    "between_buildings": (
        "A copper cable to the {about} would carry lightning and earth currents between buildings.",
        "plan fibre or a link through the air",
    ),
    "too_little_time": (
        "{number:g} days on site are fewer than even the low estimate.",
        "agree what is left for a second visit",
    ),
    "far_outbuilding": (
        "The {about} is {number:.0f} m away, farther than copper reaches.",
        "plan fibre or a link through the air",
    ),
    "metal_lath": (
        "Metal in the plaster stops the signal at each wall.",
        "count one access point for each room until it is measured",
    ),
    "above_but_not_higher": (
        "{about}: told to lie one above the other, but the floors told say otherwise.",
        "ask on which floor each is",
    ),
}

SIZE_CLASS = {
    "small": "a small job: one visit",
    "middle": "a middling job: a visit of several days",
    "large": "a large job: two visits, or two people",
    "very large": "a very large job: several visits; split it before anything is promised",
}

SIZE_ROWS = (
    ("rooms", "rooms that need signal"),
    ("access_points", "access points"),
    ("sockets", "old sockets to trace"),
    ("runs", "runs to use or pull"),
    ("hours", "hours of work on site"),
    ("days", "days on site"),
)

INPUTS = {
    "rooms_per_unit": "rooms per access point",
    "access_points": "access points",
    "hours": "hours",
    "rooms": "rooms",
    "sockets": "sockets",
}
WHAT = {
    "need": "complaint",
    "gear": "there already",
    "guard": "must stay",
    "leave": "leaves",
    "arrive": "arrives",
    "stay": "stays",
    "touch": "not to be touched",
    "speed": "incoming speed",
    "medium": "incoming line",
    "wish": "wish",
}
UNITS = {"people": "people", "devices": "devices", "storeys": "storeys", "stay": "days", "rooms": "rooms"}
SHOWN = 60
TO_WRITE = "\n "  # two lines of room for a hand
ASSUMED = {
    "told_only": "all of it was told and nothing seen",
    "rooms_guessed": "5 to 15 rooms, for none was named",
    "first_floor_above": "the first floor is the one above street level",
    "walls_alike": "all walls are as told",
    "walls_guessed": "walls of any kind",
    "sockets_guessed": "at most one old socket a room",
    "small_rooms_unserved": "bathrooms, passages and cupboards need no access point of their own",
    "same_name_same_room": "one name is one room",
    "speed_mbps": "speeds without a unit are Mb/s",
    "nearest_length": "a distance belongs to the building named nearest to it",
    "one_person": "one person does the work",
}
