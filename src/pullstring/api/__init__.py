"""One function for each verb: verb(path, request, ...) gives an Answer. No formula, no wording, no printing.

Rooms are imported inside the functions, so that a verb loads only what it needs.
"""

from pullstring.api.adding import add
from pullstring.api.asking import if_cut, power, runs, sheet, site
from pullstring.api.request import BadRequest, day, floors, load, worst
from pullstring.api.writing import export, import_, new

__all__ = [
    "BadRequest",
    "add",
    "day",
    "export",
    "floors",
    "if_cut",
    "import_",
    "load",
    "new",
    "power",
    "runs",
    "sheet",
    "site",
    "worst",
]
