"""Invented sites of any size, drawn with a seed: mains, battery, a chain of switches, outlets, telephone blocks."""

from __future__ import annotations

import random

from pullstring.reach.consequence import Fact, Rule


class Drawn:
    """A site while it is being drawn. Elements count when first named; links are rules both ways."""

    def __init__(self, size: int, seed: int) -> None:
        self.dice = random.Random(seed)
        self.elements: set[str] = set()
        self.active = {"modem", "core"}
        self.rules: list[Rule] = []
        self.sources: list[Rule] = []
        self.services: dict[str, Fact] = {}
        self.links = 0
        self._heart()
        k = 0
        while len(self.elements) < 0.94 * size:
            self._switch(k)
            k += 1
        block = 0
        while len(self.elements) < size:
            self._block(block)
            block += 1
        self.rules += self.sources

    def source(self, kind: str, element: str) -> None:
        self.elements.add(element)
        self.sources.append(Rule((kind, element), (), ()))

    def feed(self, element: str, by: str, *through: str) -> None:
        self.elements |= {element, by, *through}
        self.rules.append(Rule(("P", element), (("P", by),), (*through, element)))

    def link(self, a: str, b: str) -> None:
        self.elements |= {a, b}
        self.links += 1
        for head, body in ((a, b), (b, a)):
            own = (("P", head),) if head in self.active else ()
            self.rules.append(Rule(("D", head), (("D", body), *own), (head,)))

    def chain(self, *elements: str) -> None:
        for a, b in zip(elements, elements[1:], strict=False):
            self.link(a, b)

    def _heart(self) -> None:
        for kind, names in (("P", ("mains", "ups_battery")), ("D", ("isp", "isp2", "telco"))):
            for name in names:
                self.source(kind, name)
        self.chain("isp", "modem", "core", "isp2")
        self.feed("ups", "mains")
        self.feed("ups", "ups_battery")
        self.feed("core", "ups")
        self.feed("modem", "brk0")
        self.feed("brk0", "mains")

    def _switch(self, k: int) -> None:
        switch, breaker = f"sw{k}", f"brk{k + 1}"
        self.active.add(switch)
        self.feed(switch, f"psu{k}")
        self.feed(f"psu{k}", breaker)
        self.feed(breaker, "mains")
        self.chain("core", f"up{k}", switch)
        if k > 0 and self.dice.random() < 0.3:
            self.chain(f"sw{k - 1}", f"ring{k}", switch)
        for i in range(24):
            chain = [f"{part}{k}_{i}" for part in ("patch", "cable", "outlet")]
            device = f"dev{k}_{i}"
            self.active.add(device)
            if self.dice.random() < 0.35:
                self.feed(device, switch, *chain)
            else:
                self.feed(device, breaker if self.dice.random() < 0.8 else "ups")
            self.chain(switch, *chain, device)
            self.services[f"svc{k}_{i}"] = ("D", device)

    def _block(self, block: int) -> None:
        self.link("telco", f"block{block}")
        for loop in range(self.dice.randint(2, 6)):
            sockets = [f"tel{block}_{loop}_{i}" for i in range(self.dice.randint(1, 3))]
            self.chain(f"block{block}", *sockets)
            for socket in sockets:
                self.services[f"phone_{socket}"] = ("D", socket)
