"""What is at hand for tracing, by what it can do."""

from __future__ import annotations

import dataclasses


@dataclasses.dataclass(frozen=True)
class Kit:
    """Numbered remotes for outlets, numbered marks and coded plugs for closet ends (plugs: four pairs, open or shorted), a tone."""

    remotes: int = 0
    marks: int = 0
    plugs: int = 0
    tone: bool = False

    @property
    def empty(self) -> bool:
        """Nothing to trace with."""
        return not (self.remotes or self.marks or self.plugs or self.tone)
