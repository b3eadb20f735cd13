"""One function for each verb: verb(path, request, ...) gives an Answer. No formula, no wording, no printing.

Rooms are imported inside the functions, so that a verb loads only what it needs.
"""

from pullstring.api.adding import add, strike
from pullstring.api.asking import site
from pullstring.api.carrying import (
    export_record,
    export_shared,
    import_record,
    is_record,
    open_seal,
    seal_cell,
)
from pullstring.api.cutting import if_cut
from pullstring.api.finding import find
from pullstring.api.first_page import sheet
from pullstring.api.history import history
from pullstring.api.inbox import inbox
from pullstring.api.judging import runs
from pullstring.api.labelling import label_facts
from pullstring.api.pocket_walk import walk_for_pocket
from pullstring.api.powering import power, power_change
from pullstring.api.registers import ends, outlets, photos_of_thing
from pullstring.api.request import BadRequest, day, floors, load, worst
from pullstring.api.rows import Row, add_rows, strike_all
from pullstring.api.shapes import floors_of, shapes
from pullstring.api.shown import drawn_closets, drawn_floor, drawn_riser, every_floor
from pullstring.api.signalling import signal, signal_field, signal_moved
from pullstring.api.starting import start
from pullstring.api.taking import (
    for_pocket,
    pair,
    phone_of,
    phones,
    photo,
    take_entries,
    take_photo,
    unpair,
)
from pullstring.api.tracing import trace, trace_why
from pullstring.api.tracing_accept import trace_accept
from pullstring.api.tracing_codes import trace_codes, trace_two_trips, trace_words
from pullstring.api.tracing_decode import trace_decode
from pullstring.api.tracing_next import trace_next
from pullstring.api.writing import export, import_, new, what_fits

__all__ = [
    "BadRequest",
    "Row",
    "add",
    "add_rows",
    "day",
    "drawn_closets",
    "drawn_floor",
    "drawn_riser",
    "ends",
    "every_floor",
    "export",
    "export_record",
    "export_shared",
    "find",
    "floors",
    "floors_of",
    "for_pocket",
    "history",
    "if_cut",
    "import_",
    "import_record",
    "inbox",
    "is_record",
    "label_facts",
    "load",
    "new",
    "open_seal",
    "outlets",
    "pair",
    "phone_of",
    "phones",
    "photo",
    "photos_of_thing",
    "power",
    "power_change",
    "runs",
    "seal_cell",
    "shapes",
    "sheet",
    "signal",
    "signal_field",
    "signal_moved",
    "site",
    "start",
    "strike",
    "strike_all",
    "take_entries",
    "take_photo",
    "trace",
    "trace_accept",
    "trace_codes",
    "trace_decode",
    "trace_next",
    "trace_two_trips",
    "trace_why",
    "trace_words",
    "unpair",
    "walk_for_pocket",
    "what_fits",
    "worst",
]
