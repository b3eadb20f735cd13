"""Everything that can be done to a site, as one table: on what, with what effect, what it makes stale, and its inverse.

An effect is a field that is set, or a relation of the subject that is let go or made. `{object}` is the act's object and
`{name}` one of its values. `exchange tags` with a `from` day says that two tags were on each other's place since then and
are right again now: what was entered in between is taken to speak of the other thing. A test reads every row twice: the
inverse of the inverse is the act, and doing both leaves the site.
"""

from __future__ import annotations

import dataclasses


@dataclasses.dataclass(frozen=True)
class Effect:
    """One change of the as-built site: `sets` a field to a value, or ends (`drops`) and begins (`makes`) a relation."""

    sets: str = ""
    value: str = ""
    drops: str = ""
    makes: str = ""


@dataclasses.dataclass(frozen=True)
class Act:
    """A row of the act table."""

    name: str
    subjects: tuple[str, ...]
    objects: tuple[str, ...]
    effects: tuple[Effect, ...]
    stale: tuple[str, ...]
    inverse: str
    needs: tuple[str, ...] = ()


_ANY = ("*",)
_LANDS = ("outlet", "jack", "row", "port", "block", "stop")
_MAINS = ("socket", "switch", "circuit", "port")
_ROWS = (
    Act(
        "plug in",
        ("end", "port"),
        ("port", "outlet", "jack"),
        (Effect(drops="plugged"), Effect(makes="plugged")),
        (),
        "unplug",
    ),
    Act("unplug", ("end", "port"), ("port", "outlet", "jack"), (Effect(drops="plugged"),), (), "plug in"),
    Act(
        "terminate",
        ("end",),
        _LANDS,
        (Effect(drops="ends_at"), Effect(makes="ends_at")),
        ("carries",),
        "take off",
    ),
    Act(
        "take off",
        ("end",),
        _LANDS,
        (Effect(drops="ends_at"),),
        ("carries",),
        "terminate",
    ),
    Act(
        "connect power",
        ("unit", "socket", "switch"),
        _MAINS,
        (Effect(drops="fed_by"), Effect(makes="fed_by")),
        (),
        "disconnect power",
    ),
    Act("disconnect power", ("unit", "socket", "switch"), _MAINS, (Effect(drops="fed_by"),), (), "connect power"),
    Act(
        "join",
        ("end", "row", "pair"),
        ("end", "row", "pair"),
        (Effect(makes="joined"),),
        ("goes_to", "carries"),
        "part",
    ),
    Act(
        "part",
        ("end", "row", "pair"),
        ("end", "row", "pair"),
        (Effect(drops="joined"),),
        ("goes_to", "carries"),
        "join",
    ),
    Act("cut", ("cable",), (), (Effect(sets="state", value="out of use"),), ("goes_to", "carries"), "mend"),
    Act("mend", ("cable",), (), (Effect(sets="state", value="there"),), ("goes_to", "carries"), "cut"),
    Act("put in", _ANY, (), (Effect(sets="state", value="there"),), (), "take out"),
    Act("take out", _ANY, (), (Effect(sets="state", value="removed"),), (), "put in"),
    Act("move", ("unit",), ("room",), (Effect(sets="room", value="{object}"),), ("mounted_at",), "move", ("from",)),
    Act("turn on", ("circuit", "switch"), (), (Effect(sets="turned", value="on"),), (), "turn off"),
    Act("turn off", ("circuit", "switch"), (), (Effect(sets="turned", value="off"),), (), "turn on"),
    Act("set mode", ("port",), (), (Effect(sets="gives", value="{to}"),), (), "set mode", ("from", "to")),
    Act("swap", ("unit",), ("unit",), (), ("carries",), "swap"),
    Act("re-tag", _ANY, (), (), (), "re-tag", ("to",)),
    Act("exchange tags", _ANY, _ANY, (), (), "exchange tags"),
    Act("split", _ANY, (), (), (), "split", ("to", "entries")),
)
ACTS = {row.name: row for row in _ROWS}
