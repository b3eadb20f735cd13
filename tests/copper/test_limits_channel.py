"""Limits of channels and links: sums of their parts, caps, joins, editions, what is not held.

Expected values: a table of a standard where one is named; else a sum shown beside it.
"""

import math

import pytest

from pullstring.copper import limits
from pullstring.copper.limits_channel import What, channel_limit, link_limit
from pullstring.copper.limits_table import pieces_by_use
from pullstring.model.answers import Limit

MHZ = 1e6
PARTS = [piece for rows in pieces_by_use().values() for piece in rows]


@pytest.mark.parametrize(("kind", "join_mhz"), [(channel_limit, 330), (link_limit, 300)])
def test_category_6a_crosstalk__its_straight_piece_joins_the_voltage_sum(kind, join_mhz):
    below, above = (kind(category="6A", what="next", frequency_hz=(join_mhz + step) * MHZ).value for step in (0, 1e-6))
    assert below == pytest.approx(above, abs=0.05)


def test_category_6a_crosstalk__at_500_mhz():
    """TIA-568-C.2 (from memory): channel 26.1 dB, permanent link 26.7 dB."""
    assert channel_limit(category="6A", what="next", frequency_hz=500e6).value == pytest.approx(26.1, abs=0.06)
    assert link_limit(category="6A", what="next", frequency_hz=500e6).value == pytest.approx(26.7, abs=0.06)


@pytest.mark.parametrize(
    ("kind", "category", "mhz", "db"),
    [
        (link_limit, "5e", 100, 0.9 * 21.975 + 3 * 0.4),
        (link_limit, "6", 250, 0.9 * 32.84964 + 3 * 0.316228 + 0.59293),  # 0.00015 x 250^1.5
        (link_limit, "6A", 500, 0.9 * 45.25762 + 3 * 0.447214 + 1.67705),  # 0.00015 x 500^1.5
        (channel_limit, "C", 16, 1.05 * 12.92 + 4 * 0.2),
        (channel_limit, "D", 100, 1.05 * 21.348 + 4 * 0.4),
        (channel_limit, "E", 250, 1.05 * 33.01754 + 4 * 0.316228),
        (channel_limit, "EA", 500, 1.05 * 45.25762 + 4 * 0.447214),
    ],
)
def test_loss__sums_of_cable_and_connections(kind, category, mhz, db):
    """Worked by hand from the parts at the top of the category."""
    assert kind(category=category, what="loss", frequency_hz=mhz * MHZ).value == pytest.approx(db, abs=1e-4)


@pytest.mark.parametrize("category", ["3", "5", "5e", "6", "6A", "C", "D", "E", "EA"])
def test_loss__rises_with_frequency_and_a_channel_loses_more_than_its_link(category):
    top = limits.curve(part="cable", category=category, quantity="loss", edition=None).pieces[-1].high
    at = [1 + (top - 1) * n / 200 for n in range(201)]
    values = [channel_limit(category=category, what="loss", frequency_hz=f * MHZ).value for f in at]
    assert values == sorted(values)
    if category not in "CDEEA":
        fixed = [link_limit(category=category, what="loss", frequency_hz=f * MHZ).value for f in at]
        assert fixed == sorted(fixed)
        assert all(link < channel for link, channel in zip(fixed, values, strict=True))


@pytest.mark.parametrize("what", ["next", "power-sum next", "acrf"])
@pytest.mark.parametrize("category", ["5e", "6"])
def test_crosstalk__falls_with_frequency_and_a_channel_may_have_less(category, what):
    top = 100 if category == "5e" else 250
    at = [1 + (top - 1) * n / 100 for n in range(101)]
    channel, link = (
        [kind(category=category, what=what, frequency_hz=f * MHZ).value for f in at]
        for kind in (channel_limit, link_limit)
    )
    assert channel == sorted(channel, reverse=True) and link == sorted(link, reverse=True)
    assert all(a <= b for a, b in zip(channel, link, strict=True))


@pytest.mark.parametrize(
    ("category", "kind", "what", "db"),
    [
        ("5e", channel_limit, "power-sum next", 27.1),
        ("5e", link_limit, "power-sum next", 29.3),
        ("6", channel_limit, "power-sum next", 37.1),
        ("6", link_limit, "power-sum next", 39.3),
        ("5e", link_limit, "acrf", 18.6),
        ("6", link_limit, "acrf", 24.2),
        ("5e", link_limit, "return loss", 12.0),
        ("6", link_limit, "return loss", 14.0),
    ],
)
def test_channel_and_link__at_100_mhz(category, kind, what, db):
    """TIA-568-C.2 tables (from memory)."""
    assert kind(category=category, what=what, frequency_hz=100e6).value == pytest.approx(db, abs=0.06)


def test_return_loss__of_category_6_links_low_down():
    """TIA-568-C.2 (from memory): permanent link 19.1 dB at 1 MHz, 21.0 at 10; channel 19.0 and 19.0."""
    assert link_limit(category="6", what="return loss", frequency_hz=1e6).value == pytest.approx(19.1, abs=0.06)
    assert link_limit(category="6", what="return loss", frequency_hz=10e6).value == pytest.approx(21, abs=0.06)
    assert channel_limit(category="6", what="return loss", frequency_hz=1e6).value == 19
    assert channel_limit(category="6", what="return loss", frequency_hz=10e6).value == 19


@pytest.mark.parametrize(
    ("category", "channel_db", "link_db"),
    [("3", 39.08, 40.13), ("5", 60, 60), ("5e", 63.29, 64.24), ("6", 65, 65), ("6A", 65, 65)],
)
def test_next__cap_of_its_tables_at_1_mhz(category, channel_db, link_db):
    """60 dB in TSB-67 (read), 65 dB later; the sums of Category 3 (39.1 and 40.1 read) and 5e stay below."""
    at = [kind(category=category, what="next", frequency_hz=1e6).value for kind in (channel_limit, link_limit)]
    assert at == pytest.approx([channel_db, link_db], abs=0.006)


def test_next__caps_that_stand_in_the_table():
    caps = {(p.part, p.category, p.quantity): p.most for p in PARTS if p.form == "voltages" and p.most < math.inf}
    assert caps == {
        (part, category, what): cap
        for part in ("channel", "link")
        for what, categories in (("next", ("5", "5e", "6", "6A")), ("power-sum next", ("5e", "6")))
        for category in categories
        for cap in ((60 if category == "5" else 65) - (3 if what == "power-sum next" else 0),)
    }


@pytest.mark.parametrize("category", ["5e", "6"])
def test_acrf__all_its_parts_fall_20_db_a_decade(category):
    for kind in (channel_limit, link_limit):
        at = [kind(category=category, what="acrf", frequency_hz=f * MHZ).value for f in (10, 100)]
        assert at[0] - at[1] == pytest.approx(20)


def test_channel__tia_and_iso_differ_for_category_6_and_class_e():
    """21.3 against 21.7 dB at 100 MHz."""
    tia, iso = (channel_limit(category=c, what="loss", frequency_hz=100e6) for c in ("6", "E"))
    assert iso.value - tia.value == pytest.approx(0.4, abs=0.06)
    assert "TIA-568" in tia.standard and "ISO/IEC 11801" in iso.standard


def test_limit__names_standard_part_category_and_how_it_is_known():
    limit = channel_limit(category="cat5e", what=What.LOSS, frequency_hz=100e6)
    assert isinstance(limit, Limit)
    assert (limit.unit, limit.standard) == ("dB", "TIA-568-C.2 and -D.2, channel of 5e")
    assert "from memory" in limit.provenance


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        (
            {"category": "5e", "what": "loss", "frequency_hz": 1e6, "edition": "tsb67"},
            "no loss is held in tsb67; give 568c",
        ),
        ({"category": "3", "what": "acrf", "frequency_hz": 1e6}, "no acrf is held; ask for another"),
        ({"category": "5e", "what": "loss", "frequency_hz": None}, "goes with frequency"),
        ({"category": "5e", "what": "loss", "frequency_hz": 0.0}, "give one above zero"),
        ({"category": "5e", "what": "loss", "frequency_hz": math.nan}, "give one above zero"),
        ({"category": "5e", "what": "colour", "frequency_hz": 1e6}, "colour"),
        ({"category": "E", "what": "next", "frequency_hz": 1e6}, "no next is held"),
    ],
)
def test_channel__what_is_not_held_is_said(asked, says):
    with pytest.raises(ValueError, match=says):
        channel_limit(**asked)


def test_link__without_frequency():
    """TIA-568-C.2 (from memory): loop 25 and 21 ohm, Category 3 40 ohm; skew 50 and 44 ns; unbalance 3 %, of cable 5 % of the
    smaller wire."""

    def value(kind, what, category="5e"):
        return kind(category=category, what=what, frequency_hz=None).value

    assert (value(channel_limit, "loop resistance"), value(link_limit, "loop resistance")) == (25, 21)
    assert value(channel_limit, "loop resistance", "3") == 40
    assert value(channel_limit, "skew") == pytest.approx(50e-9)
    assert value(link_limit, "skew") == pytest.approx(44.25e-9)  # 0.9 x 45 + 3 x 1.25
    assert value(channel_limit, "unbalance") == 0.03
    (of_cable,) = pieces_by_use()["cable", "any", "unbalance"]
    assert (of_cable.a, of_cable.unit) == (0.05, "(max-min)/min")
