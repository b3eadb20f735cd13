"""Whom to call and what to listen to: small houses in which a person would say the same, each with a near miss."""

from __future__ import annotations

import pytest

from pullstring.model.asbuilt import Site
from pullstring.model.refs import parse_ref
from pullstring.reach.listen import Listening, Why, calls, listen, tags_alike
from tests.notice.lines import entries, site

HOUSE = """
rooms room=CL closet=yes
models model=RT what=router passes="when powered" takes=plug
models model=SW what=switch passes="when powered" takes=plug
models model=AP what="access point" passes="when powered" takes=802.3af
models model=TEL what=telephone passes=no takes=line
circuits circuit=K breaker=on
sockets socket=S1 form=wall fed_by=circuit:K
units unit=R model=RT fed_by=socket:S1
units unit=W model=SW fed_by=socket:S1
ports port=W.1 gives=nothing
ports port=W.2 gives=802.3af
ports port=W.3 gives=nothing
plugged plug=port:W.1 into=port:R.1
units unit=A model=AP
units unit=TILL model=SW fed_by=socket:S1
cables cable=C20 jacket=cat5e pairs=4
ends end=E20 cable=C20 room=CL plugged=port:W.2
ends end=F20 cable=C20 plugged=port:A.1
cables cable=C31 jacket=cat5e pairs=4
ends end=E31 cable=C31 room=CL plugged=port:W.3
ends end=F31 cable=C31 plugged=port:TILL.1
cables cable=FEED jacket="drop wire" pairs=4
ends end=IN cable=FEED plugged=port:R.wan
services service=NET name=internet arrives_at=unit:R needs=data source=feed from=end:IN keep=yes
services service=CARD name="card terminal" arrives_at=unit:TILL needs=data source=feed from=end:IN hours=11-23
"""
WIFI = "services service=WIFI arrives_at=unit:A needs=data source=feed from=end:IN\n"
SPARE = "cables cable=C13 jacket=quad pairs=2\nends end=E13 cable=C13 room=CL\n"


def asked(text: str, *refs: str) -> Listening:
    return listen(site(text), [parse_ref(r) for r in refs])


def stays(text: str, *refs: str) -> tuple[str, Why] | None:
    one = asked(text, *refs).stays
    return (one.ref, one.why) if one else None


def goes(text: str, *refs: str) -> tuple[str, Why] | None:
    one = asked(text, *refs).goes
    return (one.ref, one.why) if one else None


def test_goes__the_service_on_the_wire() -> None:
    assert goes(HOUSE, "cable:C31") == ("service:CARD", Why.HANGS_ON_IT)


def test_goes__one_that_need_not_stay_before_one_that_must() -> None:
    """The socket takes both along; a till out of hours may be tried, the internet may not."""
    assert goes(HOUSE, "socket:S1") == ("service:CARD", Why.HANGS_ON_IT)
    other = "services service=NET keep=no\nservices service=CARD keep=yes\n"
    assert goes(HOUSE + other, "socket:S1") == ("service:NET", Why.HANGS_ON_IT)


def test_goes__a_light_where_no_service_hangs_on_it() -> None:
    """Nobody noted what the access point is for, but its light goes out; its wire brings its power."""
    assert goes(HOUSE, "end:E20") == ("unit:A", Why.LOSES_POWER)


def test_goes__nothing_where_nothing_hangs() -> None:
    assert goes(HOUSE + SPARE, "cable:C13") is None


def test_goes__only_noted_on_the_wire_comes_last() -> None:
    bell = "services service=BELL name='night bell' carried_on=end:E20\n"
    assert goes(HOUSE + bell, "end:E20") == ("unit:A", Why.LOSES_POWER)
    assert goes(HOUSE + SPARE + bell.replace("E20", "E13"), "end:E13") == ("service:BELL", Why.NOTED_ON_IT)


LIKE = {
    "its tag with two signs exchanged": ("", ("service:CARD", Why.TAG_ALIKE)),
    "the same label": (WIFI + "ends end=E13 label=GUEST\nends end=E20 label=guest\n", ("service:WIFI", Why.SAME_LABEL)),
    "another label": (WIFI + "ends end=E13 label=GUEST\nends end=E20 label=GUESTS\n", ("service:CARD", Why.TAG_ALIKE)),
    "a label that says none is no label": (
        WIFI + "ends end=E13 label=none\nends end=E20 label=none\n",
        ("service:CARD", Why.TAG_ALIKE),
    ),
    "an old label puts it at the plate of the till": (
        "outlets outlet=O9\nends end=F31 ends_at=outlet:O9\n"
        "claims subject=end:E13 relation=goes_to object=outlet:O9 grade=told\n",
        ("service:CARD", Why.SAID_TO_BE),
    ),
    "it was traced to that plate: two cables there, and no mistake": (
        WIFI
        + "outlets outlet=O9\nends end=F31 ends_at=outlet:O9 grade=seen\nends end=E20 label=TILL\nends end=E13 label=TILL\n"
        "claims subject=end:E13 relation=goes_to object=outlet:O9 grade=toned\n",
        ("service:WIFI", Why.SAME_LABEL),
    ),
}


@pytest.mark.parametrize("name", LIKE)
def test_stays__the_likeliest_victim(name: str) -> None:
    more, said = LIKE[name]
    assert stays(HOUSE + SPARE + more, "end:E13") == said


ROWS = """
rooms room=CL closet=yes
blocks block=B
models model=TEL what=telephone passes=no takes=line
units unit=T model=TEL
units unit=U model=TEL
cables cable=DA jacket=quad pairs=1
ends end=NE1 cable=DA room=CL ends_at=row:B.4
ends end=FAR1 cable=DA plugged=port:T.line
cables cable=DB jacket=quad pairs=1
ends end=NW2 cable=DB room=CL ends_at=row:B.9
ends end=FAR2 cable=DB plugged=port:U.line
cables cable=XA pairs=1
ends end=XIN cable=XA
ends end=XOUT cable=XA ends_at=row:B.4
cables cable=XB pairs=1
ends end=YIN cable=XB
ends end=YOUT cable=XB ends_at=row:B.9
cables cable=SPARE7 jacket="bell wire" pairs=1
ends end=ZZ cable=SPARE7 room=CL ends_at=row:B.{row}
services service=AA arrives_at=unit:T needs=line source=exchange from=end:XIN
services service=LIFT arrives_at=unit:U needs=line source=exchange from=end:YIN {keep}
"""


@pytest.mark.parametrize(
    ("row", "keep", "said"),
    [
        (5, "keep=yes", ("service:AA", Why.NEXT_ROW)),  # a hand one row off, though another must stay
        (10, "keep=yes", ("service:LIFT", Why.NEXT_ROW)),
        (20, "keep=yes", ("service:LIFT", Why.NEAREST)),  # nothing is like it: the one that must stay
        (20, "", ("service:AA", Why.NEAREST)),
    ],
)
def test_stays__the_row_beside(row: int, keep: str, said: tuple[str, Why]) -> None:
    assert stays(ROWS.format(row=row, keep=keep), "end:ZZ") == said


def test_stays__what_goes_dark_is_not_listened_to() -> None:
    assert stays(HOUSE, "cable:C31") == ("service:NET", Why.NEAREST)
    assert stays(HOUSE, "cable:FEED") is None


def test_stays__what_nobody_pays_for_any_more_is_not_listened_to() -> None:
    text = ROWS.format(row=5, keep="keep=yes")
    assert stays(text + "services service=AA ceased=yes\n", "end:ZZ") == ("service:LIFT", Why.NEAREST)


def test_stays__its_likeness_is_among_the_reasons() -> None:
    """Without the saying of the old label the same victim is no longer the likeliest for that reason."""
    text = HOUSE + SPARE + LIKE["an old label puts it at the plate of the till"][0]
    one = asked(text, "end:E13").stays
    made = {e.id: e for e in entries(text)}
    assert one is not None and any(getattr(made[e].body, "relation", "") == "goes_to" for e in one.because)


TWO = """
companies company=ALM name="alarm company" hours="Mo-Fr 8-17"
companies company=ISP name="provider"
companies company=LFT name="lift company" asked=yes
cables cable=C1 pairs=2
ends end=E1 cable=C1
ends end=E9 cable=C1
services service=FIRE keep=yes protected_by=ALM carried_on=end:E1 needs=line
incoming_lines incoming_line=IL cable=C1 provider=ISP
"""


def called(found: Site, ref: str) -> list[tuple[str, str, bool, bool]]:
    return [(c.company, c.hours, c.stops_kept, c.asked) for c in calls(found, [parse_ref(ref)])]


def test_call__first_who_guards_what_must_stay_and_would_go_dark() -> None:
    assert called(site(TWO), "end:E9") == [("ALM", "Mo-Fr 8-17", True, False), ("ISP", "", False, False)]


def test_call__who_was_asked_already_comes_after_who_was_not() -> None:
    lift = "services service=LIFT keep=yes protected_by=LFT carried_on=end:E1 needs=line\n"
    assert [c[0] for c in called(site(TWO + lift), "cable:C1")] == ["ALM", "LFT", "ISP"]
    both = lift + "companies company=ALM asked=yes\ncompanies company=LFT asked=no\n"
    assert [c[0] for c in called(site(TWO + both), "cable:C1")] == ["LFT", "ALM", "ISP"]


def test_call__nobody_for_what_nobody_guards() -> None:
    assert called(site(TWO + "cables cable=C13 pairs=2\n"), "cable:C13") == []


def test_unplaced__a_service_of_unknown_place_is_told_with_every_cut() -> None:
    bell = "services service=BELL keep=yes\n"
    assert asked(HOUSE + SPARE + bell, "cable:C13").unplaced == ("service:BELL",)
    assert asked(HOUSE + SPARE + bell + "ends end=E20 carries=service:BELL\n", "cable:C13").unplaced == ()


@pytest.mark.parametrize(
    ("a", "b", "alike"),
    [
        ("E26", "E27", True),
        ("E13", "E31", True),
        ("C08", "C08b", True),
        ("E6", "E16", True),
        ("E13", "E13", False),
        ("E12", "E34", False),
        ("E123", "E321", False),
        ("E1", "F12", False),
    ],
)
def test_tags_alike(a: str, b: str, alike: bool) -> None:
    assert tags_alike(a, b) is alike and tags_alike(b, a) is alike
