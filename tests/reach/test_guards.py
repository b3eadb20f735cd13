"""No conductor that is live, protected or unknown may end in GO; each case was found by reading for a way around the rule."""

from __future__ import annotations

from pathlib import Path

import pytest

from pullstring import api
from pullstring.model.answers import Request
from pullstring.model.refs import parse_ref
from pullstring.reach.guards import carried_away, guards_of, is_idle, is_open_question
from tests.journeys.sites import HAND
from tests.notice.lines import site

QUIET = "measurements subject={0} quantity='volts DC' value=none at=2026-03-20\n"
QUIET += "measurements subject={0} quantity='volts AC' value=none at=2026-03-20\n"
BASE = "rooms room=CL closet=yes\nblocks block=B1\ncables cable=C1 pairs=4\nends end=E1 cable=C1 room=CL\n"
METERED = BASE + QUIET.format("end:E1")
ALARM = (
    "companies company=ALM\ncables cable=C9 pairs=2\nends end=E9 cable=C9 room=CL\n"
    "services service=FIRE keep=yes protected_by=ALM carried_on=end:E9\n"
)


def idle(text: str, ref: str = "cable:C1") -> bool:
    return is_idle(site(text), parse_ref(ref))


def test_metered_and_quiet__is_idle() -> None:
    assert idle(METERED) and idle(METERED, "end:E1") and not idle(BASE)


NOT_IDLE = {
    "pairs were never counted and one was metered": BASE.replace(" pairs=4", "") + QUIET.format("pair:C1.1"),
    "the end counts more pairs than were metered": BASE.replace(" pairs=4", "")
    + "ends end=E1 pairs=2\n"
    + QUIET.format("pair:C1.1"),
    "one pair of four": BASE + QUIET.format("pair:C1.1"),
    "the reading is of 1999": METERED.replace("2026-03-20", "1999"),
    "the reading is over a year old": METERED.replace("2026-03-20", "2025-03-01"),
    "it was put on a row after the reading": METERED
    + "acts act=terminate subject=end:E1 object=row:B1.1 at=2026-03-21\n",
    "it was joined after the reading": METERED
    + "ends end=E2 cable=C2\ncables cable=C2\nacts act=join subject=end:E2 object=end:E1 at=2026-03-21\n",
    "volts on the row where it lies": METERED
    + "ends end=E1 ends_at=row:B1.1 at=2026-03-19\nmeasurements subject=row:B1.1 quantity='volts DC' value='48 V'\n",
    "volts on what shares its row": METERED
    + "ends end=E1 ends_at=row:B1.1 at=2026-03-19\ncables cable=C2\nends end=E2 cable=C2 ends_at=row:B1.1\n"
    + "measurements subject=end:E2 quantity='volts DC' value='-48 V'\n",
    "only the first pair was metered": METERED.replace("value=none at", "value=none conditions='first pair' at"),
    "a conductor is open and only the near end was metered": METERED
    + "measurements subject=end:E1 quantity='wire map' value='open 1 2 3 4 5 6 7 8'\n",
}


@pytest.mark.parametrize("name", NOT_IDLE)
def test_not_idle__when(name: str) -> None:
    assert not idle(NOT_IDLE[name])


def test_idle__open_conductor_metered_at_both_ends_and_all_pairs_said() -> None:
    both = METERED + "ends end=X1 cable=C1\n" + QUIET.format("end:X1")
    assert idle(both + "measurements subject=end:E1 quantity='wire map' value='whole; open 8'\n")
    assert idle(METERED.replace("value=none at", "value=none conditions='all pairs, one by one' at"))
    assert idle(BASE + "".join(QUIET.format(f"pair:C1.{n}") for n in range(1, 5)))


GUARDED = {
    "on one row with a protected line": (
        METERED + ALARM + "ends end=E1 ends_at=row:B1.1\nends end=E9 ends_at=row:B1.1\n",
        ("cable:C1", "row:B1.1", "block:B1"),
        {"service:FIRE": "ALM"},
    ),
    "clipped to a protected line": (
        METERED
        + ALARM
        + "ends end=E1 ends_at=row:B1.1\nends end=E9 ends_at=row:B1.2\nrows row=B1.1 clip_to=row:B1.2\n",
        ("cable:C1", "end:E1"),
        {"service:FIRE": "ALM"},
    ),
    "a claim says what it carries": (
        METERED + ALARM + "ends end=E1 carries=service:FIRE\n",
        ("cable:C1", "end:E1"),
        {"service:FIRE": "ALM"},
    ),
    "it is the incoming line": (
        METERED + "companies company=TEL\nincoming_lines incoming_line=L1 cable=C1 provider=TEL\n",
        ("cable:C1", "end:E1"),
        {"incoming_line:L1": "TEL"},
    ),
    "it is an incoming line of which nobody knows the provider": (
        METERED + "incoming_lines incoming_line=L1 cable=C1\n",
        ("cable:C1",),
        {"incoming_line:L1": "provider"},
    ),
    "its plug sits in a unit that only a company may touch": (
        METERED + "companies company=ALM\nunits unit=P1 protected_by=ALM\nends end=E1 plugged=port:P1.2\n",
        ("cable:C1", "end:E1"),
        {"unit:P1": "ALM"},
    ),
    "one pair of it is protected": (
        METERED + "companies company=ALM\nservices service=FIRE protected_by=ALM carried_on=pair:C1.2\n",
        ("cable:C1", "pair:C1.2"),
        {"service:FIRE": "ALM"},
    ),
}

PROVIDED = (
    "companies company=ISP\nunits unit=IN protected_by=ISP\ncables cable=C9 pairs=4\nends end=E9 cable=C9 room=CL\n"
    "services service={0} keep=yes needs={1} protected_by=ISP from=unit:IN arrives_at=unit:HUB carried_on=end:E9\n"
    "ends end=E1 carries=service:{0}\n"
)
HUB = METERED + "units unit=HUB\n"


@pytest.mark.parametrize(
    ("needs", "mine"),
    [("data", {}), ("line", {"service:NET": "ISP"}), ("power", {"service:NET": "ISP"})],
)
def test_guarded__a_house_cable_that_carries_it_on_is_the_providers_for_a_line_only(
    needs: str, mine: dict[str, str]
) -> None:
    """The provider's hand ends where its data come in; a lift line is the lift company's as far as anything carries it."""
    found = site(HUB + PROVIDED.format("NET", needs))
    assert {ref: guards_of(found, parse_ref(ref)) for ref in ("end:E1", "cable:C1", "unit:HUB")} == {
        "end:E1": mine,
        "cable:C1": mine,
        "unit:HUB": mine,
    }
    assert guards_of(found, parse_ref("end:E9")) == {"service:NET": "ISP"}
    assert guards_of(found, parse_ref("unit:IN")) == {"service:NET": "ISP", "unit:IN": "ISP"}


def test_guarded__a_house_cable_that_carries_data_stays_in_use() -> None:
    assert carried_away(site(HUB + PROVIDED.format("NET", "data")), [parse_ref("cable:C1")]) == ("service:NET",)


OTHERS = {
    "its login is not ours": ("units unit=X login='not ours'\n", {"unit:X": "owner"}),
    "its login is not ours and it says whose": ("units unit=X login='not ours' owner=KIN\n", {"unit:X": "KIN"}),
    "a company owns it": ("companies company=RENT\nunits unit=X owned_by=company:RENT\n", {"unit:X": "RENT"}),
    "its login is only locked": ("units unit=X login=locked owner=KIN\n", {}),
    "it belongs to a role of the house": ("roles role=OWN\nunits unit=X owned_by=role:OWN\n", {}),
}


@pytest.mark.parametrize("name", OTHERS)
def test_others_property__the_unit_and_its_ports_and_not_what_is_plugged_in(name: str) -> None:
    text, guards = OTHERS[name]
    found = site(METERED + text + "ends end=E1 plugged=port:X.1\n")
    assert guards_of(found, parse_ref("unit:X")) == guards_of(found, parse_ref("port:X.1")) == guards
    assert guards_of(found, parse_ref("cable:C1")) == {}


def test_others_property__a_cable_that_a_company_owns() -> None:
    found = site(METERED + "companies company=RENT\nclaims subject=cable:C1 relation=owned_by object=company:RENT\n")
    assert guards_of(found, parse_ref("end:E1")) == {"cable:C1": "RENT"}


@pytest.mark.parametrize("name", GUARDED)
def test_guarded__when(name: str) -> None:
    text, refs, guards = GUARDED[name]
    assert {ref: guards_of(site(text), parse_ref(ref)) for ref in refs} == dict.fromkeys(refs, guards)


def test_guarded__not_the_sister_pair_and_not_a_neighbour() -> None:
    found = site(GUARDED["one pair of it is protected"][0])
    assert guards_of(found, parse_ref("pair:C1.3")) == {}
    apart = METERED + ALARM + "ends end=E1 ends_at=row:B1.1\nends end=E9 ends_at=row:B1.2\n"
    assert guards_of(site(apart), parse_ref("cable:C1")) == {}


USED = METERED + (
    "circuits circuit=F1\nsockets socket=K1\nswitches switch=W1\nunits unit=BOX\nunits unit=U1\nunits unit=U2\n"
    "ports port=U1.1 plugged=port:U2.7\nports port=U1.2\noutlets outlet=O1\nrows row=B1.3\nrooms room=R9\n"
)


@pytest.mark.parametrize(
    ("ref", "open_question"),
    [
        ("socket:K1", True),  # nobody notes every lamp
        ("switch:W1", True),
        ("circuit:F1", True),
        ("unit:BOX", False),  # it lies in a box
        ("unit:U1", True),
        ("unit:U2", True),  # its port is known by what sits in it only
        ("port:U1.1", True),
        ("port:U1.2", False),
        ("outlet:O1", True),  # a plate that nobody opened
        ("row:B1.3", True),
        ("cable:C1", False),  # metered and quiet
        ("pair:C1.2", False),
        ("room:R9", False),
    ],
)
def test_open_question__what_may_carry_more_than_was_noted(ref: str, open_question: bool) -> None:
    assert is_open_question(site(USED), parse_ref(ref)) is open_question


def cut(tmp_path: Path, text: str, *tags: str) -> dict:
    from tests.notice.lines import tables

    path = tmp_path / "a.site"
    request = Request(today="2026-04-01")
    api.new(path, request, code="WM", name="", **HAND)
    for number, raw in enumerate(tables(text)):
        folder = tmp_path / f"t{number}"
        folder.mkdir()
        lines = [",".join(raw.header), ",".join(f'"{c}"' for c in raw.rows[0][1])]
        (folder / f"{raw.table}.csv").write_text("\n".join(lines), "utf-8")
        api.import_(path, request, folder=folder, **HAND)
    return dict(api.if_cut(path, Request(today="2026-04-01", tags=tags)).answer)


def test_if_cut__a_row_with_an_unmetered_cable_is_no_go(tmp_path: Path) -> None:
    said = cut(tmp_path, BASE + "rows row=B1.1\nends end=E1 ends_at=row:B1.1\n", "row:B1.1")
    assert (said["verdict"], said["unknown"]) == ("ASK", ["row:B1.1"])


def test_if_cut__a_kept_service_goes_dark_though_nobody_noted_where_it_arrives(tmp_path: Path) -> None:
    said = cut(tmp_path, METERED + "services service=BELL keep=yes carried_on=end:E1 name='night bell'\n", "C1")
    assert said["verdict"] == "STOP" and [d["name"] for d in said["dark"]] == ["night bell"]


def test_if_cut__what_only_powers_a_unit_is_no_go(tmp_path: Path) -> None:
    text = (
        "models model=AP takes=802.3af what='access point'\nmodels model=INJ what=injector takes=plug\n"
        "circuits circuit=F1 breaker=on\nsockets socket=K1 fed_by=circuit:F1\n"
        "units unit=U2 model=INJ fed_by=socket:K1\nports port=U2.out gives=802.3af\nunits unit=U1 model=AP\n"
        "ports port=U1.1 plugged=port:U2.out\n"
    )
    said = cut(tmp_path, text, "U2")
    assert (said["verdict"], said["unpowered"]) == ("ASK", ["unit:U1"])


def test_if_cut__an_old_tag_still_finds_its_thing(tmp_path: Path) -> None:
    text = METERED + "acts act=re-tag subject=end:E1 to=KX9 at=2026-03-25\n"
    assert cut(tmp_path, text, "E1")["cut"] == ["end:KX9"]
