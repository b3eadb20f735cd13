"""What touches a run: cords that carry it on, and cables that hang on it as branches."""

from __future__ import annotations

from pullstring.model.asbuilt import Site
from pullstring.model.refs import Ref
from pullstring.model.wiring import CORDS, Run


def cords_of(site: Site, run: Run) -> tuple[Ref, ...]:
    """Cords recorded as cables of their own that touch the run; they carry it on and are no branches."""
    return tuple(c for c in run.touching if _is_cord(site, c))


def hanging_on(site: Site, run: Run) -> tuple[Ref, ...]:
    """Other cables that touch the run: branches, until somebody parts them."""
    return tuple(c for c in run.touching if not _is_cord(site, c))


def _is_cord(site: Site, cable: Ref) -> bool:
    thing = site.get(cable)
    return thing is not None and thing.text("jacket") in CORDS
