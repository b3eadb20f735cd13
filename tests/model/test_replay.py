"""Replay: only the set of entries counts; heads, two accounts, striking out, dates, tags, claims and acts."""

from __future__ import annotations

import itertools
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring import api
from pullstring.log.merge import merge
from pullstring.log.store import create, open_store
from pullstring.model.acts import ACTS
from pullstring.model.answers import Request, plain
from pullstring.model.asbuilt import Site
from pullstring.model.checks import record_problems
from pullstring.model.entries import Entry, Evidence, Measured, Noted, StruckOut
from pullstring.model.refs import Ref, parse_ref
from pullstring.model.replay import replay
from pullstring.model.when import parse_when
from tests.model.make import SEEN, claimed, did, entry, noted

TODAY = "2026-04-01"


def site(*entries: Entry, as_of: str | None = None, known_by: str | None = None, today: str = TODAY) -> Site:
    return replay(entries, today=today, as_of=as_of, known_by=known_by)


def value(found: Site, ref: str, field: str) -> object:
    thing = found.get(parse_ref(ref))
    return thing.get(field) if thing else None


def claim(found: Site, subject: str, relation: str, other: str):
    return next(c for c in found.claims if (str(c.subject), c.relation, str(c.object)) == (subject, relation, other))


bodies = st.one_of(
    st.builds(
        lambda t, v, o: noted(f"end:E{t}", {"found": v}, over={"found": (o,)}),
        st.integers(1, 3),
        st.sampled_from(["loose", "row 2"]),
        st.sampled_from(["i1", "i2", "i9"]),
    ),
    st.builds(
        lambda t, o, h, g: claimed(f"end:E{t}", "goes_to", f"outlet:O{o}", holds=h, grade=g),
        st.integers(1, 3),
        st.integers(1, 2),
        st.booleans(),
        st.sampled_from(["told", "seen", "toned"]),
    ),
    st.builds(lambda t, o: did("plug in", f"end:E{t}", f"port:U1.{o}"), st.integers(1, 3), st.integers(1, 2)),
    st.builds(lambda i: StruckOut(i, "never so"), st.sampled_from(["i1", "i2", "i3"])),
)
records = st.lists(bodies, max_size=8).map(
    lambda found: [entry(f"i{n}", b, tick=(n + 1) // 2, device="ab"[n % 2], n=n) for n, b in enumerate(found, 1)]
)


@given(records, st.randoms())
def test_replay__depends_only_on_the_set(record: list[Entry], dice) -> None:
    mixed = [*record, *record[:3]]
    dice.shuffle(mixed)
    assert site(*mixed) == site(*record)


def test_heads__two_accounts_until_one_names_both() -> None:
    a = entry("a1", noted("cable:C1", {"look": "grey"}, new=True), tick=1)
    b = entry("b1", noted("cable:C1", {"look": "blue"}, over={"look": ("a1",)}), tick=2, device="b")
    c = entry("c1", noted("cable:C1", {"look": "ivory"}, over={"look": ("a1",)}), tick=2, device="c")
    found = site(a, b, c)
    assert [h.value for h in found.things[Ref("cable", "C1")].fields["look"].heads] == ["blue", "ivory"]
    assert value(found, "cable:C1", "look") == "ivory"
    assert [p.code for p in record_problems(found)] == ["two_accounts"]
    settled = site(a, b, c, entry("a2", noted("cable:C1", {"look": "blue"}, over={"look": ("b1", "c1")}), tick=3))
    assert value(settled, "cable:C1", "look") == "blue"
    assert record_problems(settled) == ()


def test_struck_out__restores_what_stood_before_and_can_be_struck_itself() -> None:
    a = entry("a", noted("end:E1", {"found": "row 2"}, new=True), tick=1)
    b = entry("b", noted("end:E1", {"found": "row 3"}, over={"found": ("a",)}), tick=2)
    s = entry("s", StruckOut("b", "read upside down"), tick=3)
    assert value(site(a, b, s), "end:E1", "found") == "row 2"
    assert value(site(a, b, s, entry("t", StruckOut("s", "it was right"), tick=4)), "end:E1", "found") == "row 3"
    assert value(site(a, b, s, as_of="2026-03-01"), "end:E1", "found") == "row 2"


def test_as_of_and_known_by__are_two_questions() -> None:
    now = entry("a", noted("room:R1", {"use": "office"}, new=True), tick=1, at="2026-03-01")
    then = entry(
        "b",
        noted("room:R1", {"use": "kitchen"}, under={"use": ("a",)}),
        tick=2,
        at="1994",
        wrote="2026-03-05T10:00:00+00:00",
    )
    assert value(site(now, then), "room:R1", "use") == "office"
    assert value(site(now, then, as_of="2000"), "room:R1", "use") == "kitchen"
    assert value(site(now, then, as_of="2000", known_by="2026-03-02"), "room:R1", "use") is None
    assert value(site(now, then, as_of="2000", known_by="b"), "room:R1", "use") == "kitchen"
    assert value(site(now, then, as_of="2000", known_by="a"), "room:R1", "use") is None


def test_one_thing_or_two__and_its_remedies() -> None:
    a = entry("a", noted("end:E7", {"found": "row 1"}, new=True), tick=1, device="a")
    b = entry("b", noted("end:e07", {"found": "row 9"}, new=True), tick=1, device="b")
    assert "one_or_two" in {p.code for p in record_problems(site(a, b))}
    one = entry("c", noted("end:E7", {"found": "row 9"}, over={"*": ("a", "b"), "found": ("a", "b")}), tick=2)
    assert record_problems(site(a, b, one)) == ()
    two = entry("c", did("split", "end:E7", to="E70", entries="b"), tick=2)
    parted = site(a, b, two)
    assert (value(parted, "end:E7", "found"), value(parted, "end:E70", "found")) == ("row 1", "row 9")
    assert record_problems(parted) == ()


def test_alias__one_thing_under_the_other_tag() -> None:
    a = entry("a", noted("end:E7", {"found": "row 1"}, new=True), tick=1)
    b = entry("b", noted("end:K3", {"label": "BAR"}, new=True), tick=2)
    found = site(a, b, entry("c", claimed("end:K3", "alias_of", "end:E7"), tick=3))
    assert value(found, "end:E7", "label") == "BAR"
    assert parse_ref("end:K3") not in found.things


def test_exchange_of_tags__one_entry_mends_it_and_before_stays_muddled() -> None:
    a = entry("a", noted("end:E1", {"found": "was really the other"}, new=True), tick=1)
    b = entry("b", noted("end:E2", {"found": "was really the first"}, new=True), tick=2)
    mend = entry("c", did("exchange tags", "end:E1", "end:E2"), tick=3, at="2026-03-09")
    assert value(site(a, b, mend), "end:E2", "found") == "was really the other"
    assert value(site(a, b, mend), "end:E1", "found") == "was really the first"
    assert value(site(a, b, mend, as_of="2026-03-05"), "end:E1", "found") == "was really the other"


@pytest.mark.parametrize(
    ("for_grade", "against_grade", "status"),
    [("seen", "seen", "contradicted"), ("seen", "toned", "contradicted"), ("toned", "told", "holds")],
)
def test_claim__contradicted_by_an_equal_or_stronger_no(for_grade: str, against_grade: str, status: str) -> None:
    found = site(
        entry("a", claimed("end:E1", "goes_to", "outlet:O1", grade=for_grade), tick=1),
        entry("b", claimed("end:E1", "goes_to", "outlet:O1", holds=False, grade=against_grade), tick=2),
    )
    assert claim(found, "end:E1", "goes_to", "outlet:O1").status == status


def test_claim__only_a_no_is_ruled_out() -> None:
    found = site(entry("a", claimed("end:E1", "goes_to", "outlet:O1", holds=False), tick=1))
    assert claim(found, "end:E1", "goes_to", "outlet:O1").status == "ruled out"
    assert found.about(relation="goes_to") == ()


def test_claim__one_to_one_rivals_contradict_and_many_to_many_do_not() -> None:
    rivals = site(
        entry("a", claimed("end:E1", "plugged", "port:U1.1"), tick=1),
        entry("b", claimed("end:E1", "plugged", "port:U1.2"), tick=2),
    )
    assert {c.status for c in rivals.claims} == {"contradicted"}
    weaker = site(
        entry("a", claimed("end:E1", "plugged", "port:U1.1"), tick=1),
        entry("b", claimed("end:E1", "plugged", "port:U1.2", grade="told"), tick=2),
    )
    assert [c.status for c in weaker.claims] == ["holds", "contradicted"]
    chain = site(
        entry("a", claimed("end:E1", "goes_to", "outlet:O1"), tick=1),
        entry("b", claimed("end:E1", "goes_to", "outlet:O2"), tick=2),
    )
    assert {c.status for c in chain.claims} == {"holds"}


def test_claim__goes_stale_by_age() -> None:
    old = entry("a", claimed("end:E1", "goes_to", "outlet:O1", grade="toned"), tick=1, at="2019-01-01")
    assert claim(site(old), "end:E1", "goes_to", "outlet:O1").status == "stale"
    assert claim(site(old, as_of="2020-01-01"), "end:E1", "goes_to", "outlet:O1").status == "holds"


def test_did__ends_what_was_plugged_and_a_wrong_clock_does_not_matter() -> None:
    seen = entry("a", claimed("end:E1", "plugged", "port:U1.1"), tick=1, wrote="2029-03-01T10:00:00+00:00")
    moved = entry("b", did("plug in", "end:E1", "port:U1.2"), tick=2, device="b", wrote="2026-02-28T10:00:00+00:00")
    found = site(seen, moved)
    assert [(str(c.object), c.status) for c in found.claims] == [("port:U1.2", "holds")]


def test_acts__every_inverse_is_an_act_and_its_inverse_leads_back() -> None:
    for act in ACTS.values():
        back = ACTS[act.inverse]
        assert back.inverse == act.name
        assert back.subjects == act.subjects


@pytest.mark.parametrize("act", [a for a in ACTS.values() if a.effects and not a.needs], ids=lambda a: a.name)
def test_acts__act_and_inverse_leave_the_site(act) -> None:
    """From a site in which the act is undone, doing and undoing it gives the same values and relations."""
    subject = f"{act.subjects[0] if act.subjects[0] != '*' else 'cable'}:X1"
    other = f"{act.objects[0]}:Y1" if act.objects else None
    base = [
        entry("n", noted(subject, {"note": "here"}, new=True), tick=1),
        entry("u", did(act.inverse, subject, other), tick=2),
    ]

    def state(found: Site) -> object:
        return (
            {(str(t.ref), n): f.last.value for t in found.things.values() for n, f in t.fields.items()},
            [(str(c.subject), c.relation, str(c.object)) for c in found.claims],
        )

    done = site(*base, entry("d", did(act.name, subject, other), tick=3))
    undone = site(
        *base, entry("d", did(act.name, subject, other), tick=3), entry("e", did(act.inverse, subject, other), tick=4)
    )
    assert state(undone) == state(site(*base))
    assert state(done) != state(undone)


def test_reading__same_key_counts_once() -> None:
    def reading(tag: str) -> Measured:
        return Measured(Ref("cable", tag), "capacitance", "=", 1e-9, "F", "1 nF", Evidence("metered"), "K1")

    found = site(
        entry("a", reading("C1"), tick=1), entry("b", reading("C1"), tick=2), entry("c", reading("C2"), tick=3)
    )
    assert [r.entry for r in found.readings] == ["a", "c"]


def test_three_copies__wrong_clocks_all_six_orders_same_bytes(tmp_path) -> None:
    """One three years ahead, one a day behind, one right; all edit the same fields apart; merged in every order."""
    asked = Request(today=TODAY)
    start = tmp_path / "start.site"
    with create(start, site_code="KC", device="dev0", author="TEC") as store:
        store.append(
            [noted("cable:C1", {"look": "grey", "pairs": 4}, new=True), claimed("end:E1", "plugged", "port:U1.1")],
            at=parse_when("2026-03-01"),
            wrote="2026-03-01T10:00:00+00:00",
            author="TEC",
            device="dev0",
        )
        first = store.entries()[0].id
    copies = []
    for k, (device, clock) in enumerate((("dev1", "2029-03-01"), ("dev2", "2026-02-28"), ("dev3", "2026-03-01"))):
        copy = tmp_path / f"{device}.site"
        copy.write_bytes(start.read_bytes())
        with open_store(copy, device=device) as store:
            store.append(
                [
                    Noted(
                        Ref("cable", "C1"),
                        {"look": f"look {k}", "pairs": k + 1},
                        SEEN,
                        {"look": (first,), "pairs": (first,)},
                    ),
                    did("plug in", "end:E1", f"port:U1.{k + 2}"),
                    noted(f"end:E{k}9", {"found": "new"}, new=True),
                ],
                at=parse_when(clock),
                wrote=f"{clock}T10:00:00+00:00",
                author=device,
                device=device,
            )
        copies.append(copy)
    texts = set()
    for n, order in enumerate(itertools.permutations(copies)):
        into = tmp_path / f"merged{n}.site"
        into.write_bytes(order[0].read_bytes())
        with open_store(into, device="dev9") as store:
            merge(store, order[1])
            merge(store, order[2])
            merge(store, order[1])
        texts.add(json.dumps(plain(api.site(into, asked)), sort_keys=True))
    assert len(texts) == 1
    said = json.loads(texts.pop())
    assert len(said["answer"]["things"]["cable:C1"]["look"]) == 3
    assert {p["code"] for p in said["problems"]} >= {"two_accounts"}


def test_as_of__a_vague_date_counts_once_it_surely_was_so() -> None:
    old = entry("a", noted("room:R1", {"use": "kitchen"}, new=True), tick=1, at="1994")
    assert value(site(old, as_of="1994-06-01"), "room:R1", "use") is None
    assert value(site(old, as_of="1994"), "room:R1", "use") == "kitchen"
    assert value(site(old, as_of="1995-01-01"), "room:R1", "use") == "kitchen"


def test_known_by__a_clock_that_cannot_be_read_is_no_error() -> None:
    found = replay(
        [
            entry("a", noted("cable:C1", {}, new=True), tick=1),
            entry("b", noted("cable:C2", {}, new=True), tick=2, wrote="half past ten"),
        ],
        today=TODAY,
        known_by="2026-03-02",
    )
    assert [str(r) for r in found.things] == ["cable:C1"]


def test_alias__of_two_tags_is_one_thing_and_no_question() -> None:
    found = site(
        entry("a", noted("cable:C12", {"pairs": 2}, new=True), tick=1),
        entry("b", noted("cable:C40", {"pairs": 2}, new=True), tick=2, device="b", n=1),
        entry("c", claimed("cable:C40", "alias_of", "cable:C12"), tick=3),
    )
    assert [str(r) for r in found.things] == ["cable:C12"] and found.twice_made == {}


def test_stale__found_again_after_the_act_is_fresh() -> None:
    before = [
        entry("a", noted("cable:C1", {}, new=True), tick=1),
        entry("b", claimed("cable:C1", "carries", "service:NET"), tick=2, at="2026-03-01"),
        entry("c", did("cut", "cable:C1"), tick=3, at="2026-03-02T10:00+00:00"),
    ]
    again = claimed("cable:C1", "carries", "service:NET")

    def status(*more: Entry) -> list[str]:
        return [c.status for c in site(*before, *more).claims]

    assert status() == ["stale"]
    assert status(entry("d", again, tick=4, at="2026-03-02T11:00+00:00")) == ["holds"]
    assert status(entry("d", again, tick=4, at="2026-03-01")) == ["stale"], "an older finding entered late"
    assert status(
        entry("d", again, tick=4, at="2026-03-02T11:00+00:00"),
        entry("e", did("mend", "cable:C1"), tick=5, at="2026-03-03"),
    ) == ["stale"], "another act shakes it again"
