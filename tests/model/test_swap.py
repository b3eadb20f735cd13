"""A unit is swapped: what belongs to the place stays there, the unit's own stays with the unit."""

from __future__ import annotations

from pullstring.model.refs import Ref
from pullstring.notice.noticed import noticed
from tests.notice.lines import site

BEFORE = """
rooms room=R1
sockets socket=K1
ends end=E1 plugged=port:U1.2
positions position=P1 address=10.9.0.4 label='HALL'
units unit=U1 room=R1 address=10.9.0.5 serial=old-1 fed_by=socket:K1 position=P1
units unit=U2 serial=new-2 address=10.9.0.77
"""


def test_swap__place_label_address_feed_and_plug_stay() -> None:
    found = site(BEFORE + "acts act=swap subject=unit:U2 object=unit:U1 at=2026-03-20")
    new, old = found.things[Ref("unit", "U2")], found.things[Ref("unit", "U1")]
    assert (new.get("room"), new.get("address"), new.get("serial")) == ("room:R1", "10.9.0.5", "new-2")
    assert (old.get("state"), old.get("serial")) == ("removed", "old-1")
    live = {(str(c.subject), c.relation, str(c.object)) for c in found.claims if c.support}
    assert live == {
        ("end:E1", "plugged", "port:U2.2"),
        ("unit:U2", "fed_by", "socket:K1"),
        ("unit:U2", "mounted_at", "position:P1"),
    }
    assert [p.code for p in noticed(found) if p.code == "address_clash"] == []


def test_swap__told_otherwise_the_new_unit_keeps_its_own_address() -> None:
    found = site(BEFORE + "acts act=swap subject=unit:U2 object=unit:U1 to=own at=2026-03-20")
    assert found.things[Ref("unit", "U2")].get("address") == "10.9.0.77"
    assert found.things[Ref("unit", "U2")].get("room") == "room:R1"


def test_swap__the_day_before_it_is_as_it_was() -> None:
    from pullstring.model.replay import replay
    from tests.notice.lines import TODAY, entries

    text = BEFORE.replace("\n", " at=2026-01-01\n").replace("\n at=2026-01-01\n", "\n", 1)
    text = "\n".join(line for line in text.splitlines() if line.strip() != "at=2026-01-01")
    record = entries(text + "\nacts act=swap subject=unit:U2 object=unit:U1 at=2026-03-20")
    then = replay(record, today=TODAY, as_of="2026-03-19")
    assert then.things[Ref("unit", "U1")].get("state") is None
    assert [str(c.object) for c in then.about(relation="plugged")] == ["port:U1.2"]
