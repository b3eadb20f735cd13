"""What must hold for any layers: energy, symmetry, limits known from optics. Published values: `tests/published/test_p2040.py`."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest

from pullstring.radio import slab
from pullstring.radio.materials import LIGHT_M_PER_S, materials
from pullstring.radio.scene import MIDDLE_HZ, Layer

COSINES = np.array([0.01, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 1.0])
BOTH = ("TE", "TM")
HZ = 5.5e9
CAVITY = (Layer("brick", 0.102), Layer("air", 0.05), Layer("concrete", 0.1))
PLASTERED = (Layer("plaster", 0.015), Layer("brick", 0.225), Layer("plaster", 0.015))
PARTITION = (Layer("plasterboard", 0.013), Layer("air", 0.075), Layer("plywood", 0.02))
STACKS = {"cavity": CAVITY, "plastered": PLASTERED, "partition": PARTITION}


def fields(stack, polarisation, *, hz=HZ, cos=COSINES):
    return slab.scattering(stack, frequency_hz=hz, cos_incidence=cos, polarisation=polarisation)


def powers(stack, polarisation, *, hz=HZ, cos=COSINES):
    return slab.mean_powers(stack, frequency_hz=hz, cos_incidence=cos, polarisation=polarisation)


def of(layers, hz=HZ):
    return slab.sheets(layers, frequency_hz=hz)


@pytest.mark.parametrize("material", materials())
@pytest.mark.parametrize("polarisation", BOTH)
def test_energy__no_material_gives_back_more_than_came(material, polarisation):
    """Transmitted and reflected power together are at most the power that came, at every angle, thickness and band."""
    for thickness_m in (0.004, 0.02, 0.1, 0.34, 2.0):
        for hz in MIDDLE_HZ.values():
            stack = of((Layer(material, thickness_m),), hz)
            T, R = fields(stack, polarisation, hz=hz)
            assert (np.abs(T) ** 2 + np.abs(R) ** 2 <= 1 + 1e-9).all()
            through, back = powers(stack, polarisation, hz=hz)
            assert (through + back <= 1 + 1e-9).all() and (through >= 0).all() and (back >= 0).all()


@pytest.mark.parametrize("polarisation", BOTH)
def test_energy__nothing_is_lost_where_nothing_conducts(polarisation):
    stack = ((4.0 + 0j, 0.03), (1.0 + 0j, 0.02), (2.5 + 0j, 0.011))
    T, R = fields(stack, polarisation)
    assert np.abs(T) ** 2 + np.abs(R) ** 2 == pytest.approx(1, abs=1e-12)
    assert sum(powers(stack, polarisation)) == pytest.approx(1, abs=1e-12)


@pytest.mark.parametrize("name", STACKS)
@pytest.mark.parametrize("polarisation", BOTH)
def test_order__layers_from_behind_let_the_same_through(name, polarisation):
    """Reciprocity: what passes is the same from either side, phase and all; what comes back is not."""
    there, here = of(STACKS[name]), of(STACKS[name])[::-1]
    assert fields(there, polarisation)[0] == pytest.approx(fields(here, polarisation)[0], abs=1e-12)
    assert powers(there, polarisation)[0] == pytest.approx(powers(here, polarisation)[0], rel=1e-9)


@pytest.mark.parametrize("polarisation", BOTH)
def test_order__unlike_faces_throw_back_unlike_power(polarisation):
    there, here = of(CAVITY), of(CAVITY)[::-1]
    assert np.abs(powers(there, polarisation)[1] - powers(here, polarisation)[1]).max() > 0.01


@pytest.mark.parametrize("polarisation", BOTH)
def test_cut_in_two__a_layer_of_two_halves_is_the_layer(polarisation):
    (eps, thickness_m), *_ = of((Layer("brick", 0.225),))
    halves = ((eps, 0.1 * thickness_m), (eps, 0.9 * thickness_m))
    for law in (fields, powers):
        whole, parts = law(((eps, thickness_m),), polarisation), law(halves, polarisation)
        assert whole[0] == pytest.approx(parts[0], rel=1e-9) and whole[1] == pytest.approx(parts[1], rel=1e-9)


@pytest.mark.parametrize("polarisation", BOTH)
def test_air__is_no_wall(polarisation):
    """A layer of air lets all through, turned back by its phase k0 d cos: fields go as exp(+j w t)."""
    T, R = fields(((1 + 0j, 0.03),), polarisation)
    k0 = 2 * math.pi * HZ / LIGHT_M_PER_S
    assert pytest.approx(np.exp(-1j * k0 * 0.03 * COSINES), abs=1e-9) == T
    assert np.abs(R).max() < 1e-9
    assert powers(((1 + 0j, 0.03),), polarisation) == (pytest.approx(1), pytest.approx(0))
    assert powers((), polarisation)[0] == pytest.approx(1)


def test_conductor__throws_back_minus_one_across_and_plus_one_along():
    """A good conductor: -1 in TE and +1 in TM, the signs of ITU-R P.2040."""
    metal = of((Layer("metal", 0.001),))
    cos = np.array([0.2, 0.5, 1.0])
    assert fields(metal, "TE", cos=cos)[1] == pytest.approx(-1, abs=0.01)
    assert fields(metal, "TM", cos=cos)[1] == pytest.approx(1, abs=0.01)
    assert np.abs(fields(metal, "TE", cos=cos)[0]).max() < 1e-40


def test_brewster__at_the_angle_whose_tangent_is_the_index_nothing_comes_back_in_tm():
    """tan(angle) = n; textbook optics. In TE much comes back there, and the sign of TM turns over beyond."""
    n = 2.0
    cos = math.cos(math.atan(n))
    assert np.abs(fields(((n**2 + 0j, 0.0131),), "TM", cos=cos)[1])[0] < 1e-9
    assert powers(((n**2 + 0j, 0.0131),), "TM", cos=cos)[1][0] < 1e-12
    assert powers(((n**2 + 0j, 0.0131),), "TE", cos=cos)[1][0] > 0.3
    endless = ((n**2 - 0.01j, 100.0),)
    before, beyond = (float(fields(endless, "TM", cos=c)[1][0].real) for c in (cos + 0.1, cos - 0.1))
    assert before * beyond < 0


def test_half_wave__a_pane_half_a_wave_thick_is_not_seen():
    """Textbook optics: half a wave inside gives T = 1 in power; a quarter gives ((1 - n^2) / (1 + n^2))^2 back."""
    n = 2.5
    wave = LIGHT_M_PER_S / HZ / n
    assert np.abs(fields(((n**2 + 0j, wave / 2),), "TE", cos=1.0)[0])[0] == pytest.approx(1)
    back = np.abs(fields(((n**2 + 0j, wave / 4),), "TE", cos=1.0)[1])[0] ** 2
    assert back == pytest.approx(((1 - n**2) / (1 + n**2)) ** 2)


def test_straight_on__both_polarisations_are_one():
    """Straight on there is no plane of incidence; by the signs of P.2040 the reflections differ in sign only."""
    for stack in STACKS.values():
        (te, te_back), (tm, tm_back) = (fields(of(stack), p, cos=1.0) for p in BOTH)
        assert te == pytest.approx(tm) and te_back == pytest.approx(-tm_back)


def test_thick_layer__ten_centimetres_more_cost_what_the_material_takes():
    """Far inside, power goes as exp(-2 k0 |Im root| d); straight on root = sqrt(eps)."""
    ((eps, _),) = of((Layer("concrete", 1.0),))
    takes_db = 20 * math.log10(math.e) * 2 * math.pi * HZ / LIGHT_M_PER_S * abs(cmath.sqrt(eps).imag) * 0.1
    thin, thick = (powers(((eps, d),), "TE", cos=1.0)[0][0] for d in (1.0, 1.1))
    assert 10 * math.log10(thin / thick) == pytest.approx(takes_db, abs=0.01)


@pytest.mark.parametrize(
    ("material", "thickness_m"), [("brick", 0.1), ("brick", 0.225), ("wood", 0.04), ("plasterboard", 0.013)]
)
def test_thickness__five_millimetres_of_drawing_error_change_the_mean_by_little(material, thickness_m):
    """What is left is what 5 mm of the material take; with interference the same 5 mm move the loss two to seven times as much."""
    even, mean = [], []
    for extra_m in np.arange(0, 0.0301, 0.001):
        stack = of((Layer(material, thickness_m + extra_m),))
        even.append(-20 * math.log10(abs(fields(stack, "TE", cos=1.0)[0][0])))
        mean.append(-10 * math.log10(powers(stack, "TE", cos=1.0)[0][0]))
    moved, moved_even = (np.abs(np.array(x)[5:] - np.array(x)[:-5]).max() for x in (mean, even))
    assert moved < 0.3 and moved_even > 2 * moved and moved_even > 0.4


@pytest.mark.parametrize("polarisation", BOTH)
@pytest.mark.parametrize(
    "layers", [((6 - 0.05j, 0.2),), ((6 - 0.05j, 0.2), (1 + 0j, 0.3), (3 - 0.05j, 0.25))], ids=["one", "three"]
)
def test_mean__is_near_the_mean_over_walls_that_are_not_even(layers, polarisation):
    """Every layer's thickness thrown by dice over a wave: the mean of the power that passes. One layer is exact; for several,
    adding powers leaves out that two layers share a face, hence half a decibel."""
    dice, cos, k0 = np.random.default_rng(7), 0.8, 2 * math.pi * HZ / LIGHT_M_PER_S
    waves = [2 * math.pi / (k0 * cmath.sqrt(eps - 1 + cos**2).real) for eps, _ in layers]
    passed = []
    for _ in range(4000):
        stack = [(eps, d + w * (dice.random() - 0.5)) for (eps, d), w in zip(layers, waves, strict=True)]
        passed.append(abs(fields(stack, polarisation, cos=cos)[0][0]) ** 2)
    off_db = 10 * math.log10(powers(layers, polarisation, cos=cos)[0][0] / np.mean(passed))
    assert off_db == pytest.approx(0, abs=0.05 if len(layers) == 1 else 0.5)


def test_grazing__a_wall_seen_along_its_face_lets_little_through():
    for polarisation in BOTH:
        through, back = powers(of(PLASTERED), polarisation, cos=np.array([1e-3]))
        assert through[0] < 0.01 and back[0] > 0.95


def test_ground__its_permittivity_falls_with_frequency():
    """eps' = a f^b with b below zero for soils: at 10 GHz 15 / 10^0.1 = 11.9 and 30 / 10^0.4 = 11.9, by hand."""
    for name, at_one, at_ten in (("ground", 15.0, 11.915), ("wet ground", 30.0, 11.943)):
        found = [materials()[name].relative_permittivity(frequency_hz=hz) for hz in (1e9, 10e9)]
        assert found == pytest.approx([at_one, at_ten], abs=0.001)


def test_polarisation__another_word_is_refused():
    with pytest.raises(ValueError, match="TE or TM"):
        fields(of(CAVITY), "vertical")


def test_material__that_the_table_does_not_hold():
    with pytest.raises(KeyError):
        slab.of_layers((Layer("cheese", 0.1),), frequency_hz=HZ, cos_incidence=1.0, polarisation="TE")[0]
