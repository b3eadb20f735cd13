"""What each kind of Ethernet needs, against its line code, its clause and sums by hand; and the telephone's volts."""

import pytest

from pullstring.copper.limits_table import pieces_by_use
from pullstring.copper.phy_limits import RINGING_V, TELEPHONE_V, phy_limit, phy_needs, phys, ringing_peak_v

MHZ = 1e6
TOP_MHZ = {"3": 16, "5": 100, "5e": 100, "6": 250, "6A": 500, "C": 16, "D": 100, "E": 250, "EA": 500, "any": 500}


def test_table__curves_of_ethernet_cover_their_band():
    """Bands of IEEE 802.3 clauses 14, 40, 96, 97, 146 and 147, in MHz."""
    bands = {
        "10BASE-T": (5, 10),
        "1000BASE-T": (1, 100),
        "10BASE-T1L": (0.1, 20),
        "10BASE-T1S": (0.3, 40),
        "100BASE-T1": (1, 66),
        "1000BASE-T1": (1, 600),
    }
    held = {category for part, category, _ in pieces_by_use() if part == "phy"}
    assert held == set(bands)
    for (part, category, _), rows in pieces_by_use().items():
        if part == "phy":
            assert (rows[0].low, rows[-1].high) == bands[category]
            needs = phy_needs(category)
            assert (needs.band.low, needs.band.high) == tuple(pytest.approx(f * MHZ) for f in bands[category])


def test_telephone__rings_at_175_v():
    """90 V rms on 48 V (both read): 127.3 + 48 = 175.3 V at the peak."""
    assert (RINGING_V.value, TELEPHONE_V.value, RINGING_V.unit, TELEPHONE_V.unit) == (90, 48, "V", "V")
    peak = ringing_peak_v(ringing_v=RINGING_V.value, battery_v=TELEPHONE_V.value)
    assert peak == pytest.approx(175.3, abs=0.05)


def test_phys__rates_name_the_usual_kind():
    names = [phy_needs(rate).name for rate in (10, 100, 1000, 2500, 5000, 10000)]
    assert names == ["10BASE-T", "100BASE-TX", "1000BASE-T", "2.5GBASE-T", "5GBASE-T", "10GBASE-T"]
    assert phy_needs("10base-t1l").name == "10BASE-T1L"
    with pytest.raises(ValueError, match="10, 100, 1000, 2500"):
        phy_needs(40)


def test_phys__two_pairs_stop_at_100():
    """IEEE 802.3 clauses 14, 25, 40 (read): two pairs for 10 and 100 Mb/s, four from there up."""
    assert [phy_needs(rate).pairs for rate in (10, 100, 1000, 2500, 5000, 10000)] == [2, 2, 4, 4, 4, 4]


@pytest.mark.parametrize("rate", [2500, 5000, 10000])
def test_phys__above_a_gigabit_there_is_the_category_rule_only(rate):
    needs = phy_needs(rate)
    assert (needs.model, needs.loss) == (False, None)
    assert needs.least_category == {2500: "5e", 5000: "6", 10000: "6A"}[rate]
    with pytest.raises(ValueError, match="only the category rule"):
        phy_limit(name=needs.name, what="loss", frequency_hz=1e6)


def test_phys__100base_tx_takes_the_category_5_channel():
    """24.0 dB at 100 MHz; 40.6 dB of NEXT at 16 MHz (tables of TSB-67, read)."""
    assert phy_limit(name="100BASE-TX", what="loss", frequency_hz=100e6).value == pytest.approx(24.0, abs=0.06)
    assert phy_limit(name="100BASE-TX", what="next", frequency_hz=16e6).value == pytest.approx(40.6, abs=0.06)


@pytest.mark.parametrize(
    ("name", "loss_db", "delay_ns", "skew_ns"),
    [
        ("10BASE-T", 11.5, 1000, None),
        ("100BASE-TX", 12.8, 556, None),
        ("1000BASE-T", 18.7, 570, 50),
        ("10BASE-T1L", 25.6, 8834, None),
    ],
)
def test_phys__what_they_allow_where_their_signal_ends(name, loss_db, delay_ns, skew_ns):
    """11.5 dB, 1000 and 8834 ns read; 12.8 dB is the Category 5 channel at 31.25 MHz (read); the others from memory:
    2.1 x 62.5^0.529 + 0.4 / 62.5 = 18.7 and 12.5 x 1.936 + 0.375 + 1.033 = 25.6."""
    needs = phy_needs(name)
    assert needs.model
    assert needs.loss is not None and needs.loss.value == pytest.approx(loss_db, abs=0.06)
    assert needs.delay is not None and needs.delay.value * 1e9 == pytest.approx(delay_ns)
    assert (needs.skew.value * 1e9 if needs.skew else None) == (pytest.approx(skew_ns) if skew_ns else None)
    assert needs.band.low < needs.signal_hz <= needs.band.high


BITS = {  # bits that one symbol carries on one pair, by the line code of its clause
    "10BASE-T": 1,
    "100BASE-TX": 4 / 5,  # 4B5B
    "1000BASE-T": 2,
    "2.5GBASE-T": 3.125,
    "5GBASE-T": 3.125,
    "10GBASE-T": 3.125,
    "10BASE-T1L": 4 / 3,  # 4B3T
    "10BASE-T1S": 4 / 5,  # 4B5B
    "100BASE-T1": 3 / 2,  # 3B2T
    "1000BASE-T1": 3 / 2 * 80 / 81 * 406 / 450 / 1.0033,  # 3B2T, 80B81B, Reed-Solomon with its management bit
}


@pytest.mark.parametrize("name", BITS)
def test_phys__symbols_times_bits_times_pairs_are_the_rate(name):
    """Both directions share a pair where the standard says both ways; else half of two pairs sends."""
    needs = phy_needs(name)
    sending = max(needs.pairs // (1 if needs.both_ways else 2), 1)
    assert needs.symbol_hz * BITS[name] * sending == pytest.approx(needs.mbps * 1e6, rel=0.002)


def test_phys__levels_are_those_in_the_name_of_the_code():
    for needs in phys().values():
        said = needs.signal.rpartition("-")[2]
        assert needs.levels == (int(said) if said.isdigit() else 2), needs.name


def test_phys__reach():
    """100 m of category cable; 15 m of single pair, 1000 m for 10BASE-T1L (IEEE 802.3; read and from memory)."""
    reach = {name: needs.reach.value for name, needs in phys().items()}
    single = {"10BASE-T1L": 1000, "10BASE-T1S": 15, "100BASE-T1": 15, "1000BASE-T1": 15}
    assert reach == {name: single.get(name, 100) for name in phys()}
    assert {name for name, needs in phys().items() if needs.pairs == 1} == set(single)


@pytest.mark.parametrize("rate", [100, 1000, 2500, 5000, 10000])
def test_phys__band_ends_with_the_category_it_asks_for(rate):
    needs = phy_needs(rate)
    assert (needs.band.low, needs.band.high) == (1e6, TOP_MHZ[needs.least_category] * MHZ)


@pytest.mark.parametrize("rate", [1000, 2500, 5000, 10000])
def test_phys__four_pairs_allow_570_ns_and_50_ns_between_them(rate):
    """IEEE 802.3 clauses 40, 55 and 126 (from memory)."""
    needs = phy_needs(rate)
    assert needs.delay.value == pytest.approx(570e-9) and needs.skew.value == pytest.approx(50e-9)


@pytest.mark.parametrize(
    ("name", "mhz", "db"),
    [
        ("1000BASE-T", 1, 2.5),  # 2.1 + 0.4
        ("10BASE-T1L", 1, 14.6),  # 12.5 + 0.1 + 2
        ("10BASE-T1S", 0.3, 1.0),
        ("10BASE-T1S", 1, 1.0),
        ("10BASE-T1S", 5.5, 1.8),  # half way from 1.0 at 1 to 2.6 at 10
        ("10BASE-T1S", 33, 4.9),
        ("10BASE-T1S", 40, 5.388),  # 4.9 + 2.3 x 7 / 33
        ("100BASE-T1", 1, 1.0),
        ("100BASE-T1", 5.5, 1.8),  # half way from 1.0 at 1 to 2.6 at 10
        ("100BASE-T1", 33, 4.9),
        ("1000BASE-T1", 1, 0.6569),  # 0.5907 + 0.0023 + 0.0639
        ("1000BASE-T1", 600, 15.8517),  # 14.4691 + 1.38 + 0.0026
    ],
)
def test_phy_limit__loss_by_hand(name, mhz, db):
    """IEEE 802.3 clauses 40, 96, 97, 146, 147 (from memory), added by hand."""
    assert phy_limit(name=name, what="loss", frequency_hz=mhz * MHZ).value == pytest.approx(db, abs=0.0005)


def test_phys__signal_ends_at_half_the_symbol_rate_or_below():
    """A line code of Nyquist width needs half of its symbol rate; Manchester codes need all of it."""
    for needs in phys().values():
        share = 1 if "Manchester" in needs.signal else 0.5
        assert needs.signal_hz <= needs.symbol_hz * share
        assert needs.band.low < needs.band.high and needs.provenance


def test_phys__loss_limits_rise_with_frequency():
    for needs in phys().values():
        if needs.loss is None:
            continue
        low, high = needs.band.low, needs.band.high
        at = [
            phy_limit(name=needs.name, what="loss", frequency_hz=low + (high - low) * n / 60).value for n in range(61)
        ]
        start = 12 if needs.name == "10BASE-T1L" else 0  # below 0.4 MHz the term 2/sqrt(f) lifts it a little
        assert at[start:] == sorted(at[start:]), needs.name


def test_phys__return_loss_of_1000base_t():
    """IEEE 802.3 clause 40.7 (from memory): 15 dB to 20 MHz, 8.0 dB at 100 MHz."""
    at = [phy_limit(name="1000BASE-T", what="return loss", frequency_hz=f * MHZ).value for f in (1, 20, 100)]
    assert at == pytest.approx([15, 15, 8.0], abs=0.02)
