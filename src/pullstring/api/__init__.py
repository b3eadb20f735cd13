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
from pullstring.api.first_page import sheet
from pullstring.api.judging import runs
from pullstring.api.powering import power, power_change
from pullstring.api.request import BadRequest, day, floors, load, worst
from pullstring.api.starting import start
from pullstring.api.writing import export, import_, new, what_fits

__all__ = [
    "BadRequest",
    "add",
    "day",
    "export",
    "export_record",
    "export_shared",
    "floors",
    "if_cut",
    "import_",
    "import_record",
    "is_record",
    "load",
    "new",
    "open_seal",
    "power",
    "power_change",
    "runs",
    "seal_cell",
    "sheet",
    "site",
    "start",
    "strike",
    "what_fits",
    "worst",
]
