"""What a technician does while tracing, one act at a time, and how things stand after it."""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping

from pullstring.trace.scene import Net

AT_OUTLET = ("place tone", "take off tone", "place remote", "take off remote", "read")
AT_ENDS = ("touch", "touch set", "clip", "mark")
KINDS = (*AT_OUTLET, *AT_ENDS, "walk", "tag")


@dataclasses.dataclass(frozen=True)
class Act:
    """One act: `at` is an outlet, an end or (for 'walk') a place; `what` the number, the word of pairs, or the ends touched."""

    kind: str
    at: int
    what: int | Net | None = None

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise ValueError(f"{self.kind!r} is no act; one of {', '.join(KINDS)}")


@dataclasses.dataclass(frozen=True)
class Standing:
    """Where one stands (an outlet, or the closet), and what is in place: remotes by outlet, the tone, marks or words by end."""

    position: int
    remotes: Mapping[int, int] = dataclasses.field(default_factory=dict)
    tone_at: int | None = None
    marks: Mapping[int, int] = dataclasses.field(default_factory=dict)

    def after(self, act: Act, *, closet: int) -> Standing:
        """How things stand once an act was done."""
        position = act.at if act.kind in (*AT_OUTLET, "walk") else closet if act.kind in AT_ENDS else self.position
        found = dataclasses.replace(self, position=position)
        match act.kind:
            case "place remote":
                assert isinstance(act.what, int)
                return dataclasses.replace(found, remotes={**self.remotes, act.at: act.what})
            case "take off remote":
                return dataclasses.replace(found, remotes={o: n for o, n in self.remotes.items() if o != act.at})
            case "place tone":
                return dataclasses.replace(found, tone_at=act.at)
            case "take off tone":
                return dataclasses.replace(found, tone_at=None)
            case "mark":
                assert isinstance(act.what, int)
                return dataclasses.replace(found, marks={**self.marks, act.at: act.what})
        return found
