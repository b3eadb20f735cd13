"""What the odds mean: each finding by a small house in which it is the only one."""

from __future__ import annotations

import pytest

from pullstring.model.refs import parse_ref
from pullstring.trace.evidence import traced
from pullstring.trace.findings import Findings, Found, findings
from tests.trace.houses import house, odds, plain, read
from tests.trace.test_evidence import PLACES

SURE = "isolated confirmed"


def found_in(text: str) -> Findings:
    given = traced(house(text))
    return findings(given, odds(given))


def stand(found: Findings, ref: str) -> dict[str, list[str]]:
    return {s.what: [r.tag for r in s.about] for s in found.of(parse_ref(ref)).stands}


def test_nothing_known__is_said_to_be_unknown() -> None:
    found = found_in(plain(2, 3))
    assert {f.main.what for f in (*found.outlets, *found.ends)} == {"unknown"}


def test_a_run__names_its_end_and_the_end_its_outlet() -> None:
    found = found_in(plain(2, 3) + read("outlet:P1", "tone", f"loud from end:W2 {SURE}"))
    assert stand(found, "outlet:P1") == {"run": ["W2"]}
    assert stand(found, "end:W2") == {"goes to": ["P1"]}


def test_an_unlikely_pairing__is_not_told_as_a_fact() -> None:
    found = found_in(plain(6, 6) + read("outlet:P1", "tone", "faint from end:W2"))
    assert found.of(parse_ref("outlet:P1")).main.what == "unknown"


def test_two_sheaths_of_another_jacket_behind_a_blank_plate__hide_the_splice() -> None:
    text = plain(2, 2) + "cables: cable=K1, jacket=cat3, grade=seen\ncables: cable=K2, jacket=quad, grade=seen\n"
    text += "outlets: outlet=P2, plate=blank plate, grade=seen\n"
    text += "ends: end=F1, ends_at=P1, room=R2, jacket=station wire, grade=seen\n"
    text += "ends: end=F2, ends_at=P2, room=R2, jacket=cat3, grade=seen\n"
    text += "ends: end=F3, ends_at=P2, room=R2, jacket=station wire, grade=seen\n"
    text += read("outlet:P1", "tone", f"loud from end:W1 {SURE}") + read(
        "outlet:P2", "tone", f"loud from end:W1 {SURE}"
    )
    found = found_in(text)
    assert stand(found, "end:W1")["splice"] == ["P2"]
    visible = text.replace("plate=blank plate", "positions=1")
    assert "splice" not in stand(found_in(visible), "end:W1"), "from a plate with a jack it is a chain, not hidden"


def test_a_splice__is_not_told_where_the_jackets_are_easily_mistaken() -> None:
    text = plain(1, 1) + "cables: cable=K1, jacket=cat5, grade=seen\n"
    text += read("outlet:P1", "tone", f"loud from end:W1 {SURE}")
    for jacket, told in (("cat5e", False), ("quad", True), ("unknown", False)):
        far = f"ends: end=F1, ends_at=P1, room=R2, jacket={jacket}, grade=seen\n"
        assert ("splice" in stand(found_in(text + far), "end:W1")) is told, jacket


def test_a_cut__needs_a_length_and_no_outlet() -> None:
    read_open = read("end:W2", "capacitance", "0.3 nF", conditions="far end open")
    on_it = read("outlet:P1", "tone", f"loud from end:W2 {SURE}")
    empty = "outlets: outlet=P2, condition=empty, grade=seen, at=2026-05-02\n"
    other = read("outlet:P1", "tone", f"loud from end:W1 {SURE}", key="o")
    assert "cut" in stand(found_in(plain(2, 2) + other + empty + read_open), "end:W2")
    assert "cut" not in stand(found_in(plain(2, 2) + on_it + empty + read_open), "end:W2")
    assert "cut" not in stand(found_in(plain(2, 2) + other + empty), "end:W2")
    assert "cut" not in stand(found_in(plain(2, 2) + other + read_open), "end:W2"), "P2 may well be on it"


def test_an_end_that_is_the_likeliest_of_an_outlet__is_not_called_cut() -> None:
    """By its length alone W2 is where P1 most likely is, though not likely enough to say so."""
    text = plain(2, 8) + PLACES + "cables: cable=K2, jacket=cat5, grade=seen\n"
    text += read("outlet:P2", "tone", f"loud from end:W1 {SURE}")
    text += read("end:W2", "capacitance", "1.04 nF", conditions="far end open")
    given = traced(house(text))
    own = odds(given).own[0]
    assert own.argmax() == 1 and own[1] < 0.44
    assert set(stand(findings(given, odds(given)), "end:W2")) == {"unknown"}


def test_live__is_told_beside_where_it_goes() -> None:
    text = plain(1, 2) + read("end:W1", "volts AC", "12 V") + read("outlet:P1", "tone", f"loud from end:W1 {SURE}")
    assert set(stand(found_in(text), "end:W1")) == {"goes to", "live"}


def test_fed_from_elsewhere__a_wire_that_no_closet_cable_has() -> None:
    """A station wire at P1, another end of one at a cabinet in the room: P1 hangs on the cabinet."""
    text = plain(2, 3) + "".join(f"cables: cable=K{n}, jacket=cat5, grade=seen\n" for n in (1, 2, 3))
    text += "ends: end=F1, ends_at=P1, room=R2, jacket=station wire, grade=seen\n"
    cabinet = "ends: end=C1, room=R2, jacket=station wire, found=leaves a cabinet, grade=seen\n"
    assert stand(found_in(text + cabinet), "outlet:P1") == {"fed from elsewhere": ["C1"]}
    assert "fed from elsewhere" not in stand(found_in(text), "outlet:P1")


def test_joined_to_a_closet_cable__a_cabinet_feeds_from_it() -> None:
    """The same wire, once somebody noted that it is joined to a pair of K2 in the cabinet: then P1 is on that end."""
    text = plain(2, 3) + "".join(f"cables: cable=K{n}, jacket=cat5, grade=seen\n" for n in (1, 2, 3))
    text += "ends: end=F1, ends_at=P1, room=R2, jacket=station wire, grade=seen\ncables: cable=C9\n"
    text += "ends: end=C1, cable=C9, room=R2, jacket=station wire, grade=seen\n"
    text += "claims: subject=pair:K2.3, relation=joined, object=pair:C9.1, grade=told\n"
    found = found_in(text)
    assert stand(found, "outlet:P1") == {"run": ["W2"]}


def test_every_chance__falls_when_what_it_stands_on_is_taken_away() -> None:
    tone = read("outlet:P1", "tone", "loud from end:W1", key="a")
    more = read("outlet:P1", "tone", f"loud from end:W1 {SURE}", key="b", minute=5)
    one, two = found_in(plain(2, 5) + tone), found_in(plain(2, 5) + tone + more)
    p1 = parse_ref("outlet:P1")
    assert one.of(p1).main.what == two.of(p1).main.what == "run"
    assert one.of(p1).main.chance < two.of(p1).main.chance
    assert set(one.of(p1).main.because) < set(two.of(p1).main.because)


def test_of__knows_no_other_things() -> None:
    with pytest.raises(KeyError):
        found_in(plain(1, 1)).of(parse_ref("room:R1"))
    assert isinstance(found_in(plain(1, 1)).outlets[0], Found)
