"""Tables of what goes through and comes back: by layers at their angle, by one loss at all angles."""

from __future__ import annotations

import math

import numpy as np
import pytest

from pullstring.radio import slab
from pullstring.radio.legs import ratio
from pullstring.radio.scene import BANDS, MIDDLE_HZ, Layer
from pullstring.radio.skins import STEPS, normal_loss_db, responses
from tests.radio.by_hand import SKINS, layered, plain

HZ = [MIDDLE_HZ[b] for b in BANDS]
BRICK = (Layer("brick", 0.225),)


def made(*skins, interference=False):
    return responses({s.name: s for s in skins}, bands=BANDS, frequencies_hz=HZ, interference=interference)


def test_names__in_order_whatever_the_order_given():
    assert made(*SKINS[::-1]).names == tuple(sorted(s.name for s in SKINS))


def test_loss_alone__holds_at_every_angle_and_in_both_polarisations():
    """12 dB is a power ratio of 0.0631, so the field keeps 0.2512; a mirror of 6 dB keeps half, turned over in TE."""
    one = plain("x", loss_db=12.0, mirror_db=20 * math.log10(2))
    found = made(one)
    assert found.through == pytest.approx(0.25119, abs=1e-5)
    assert found.back[:, :, 0] == pytest.approx(-0.5, abs=1e-6) and found.back[:, :, 1] == pytest.approx(0.5, abs=1e-6)


def test_loss_alone__each_band_has_its_own():
    one = plain("x", loss_db=0.0)
    one.loss_db.update({"2.4 GHz": 6.0, "5 GHz": 12.0, "6 GHz": 20.0})  # type: ignore[attr-defined]
    kept_db = -20 * np.log10(np.abs(made(one).through[:, 0, 0, 0]))
    assert kept_db == pytest.approx([6, 12, 20], abs=1e-4)


@pytest.mark.parametrize("cosine", [0.125, 0.5, 1.0])
@pytest.mark.parametrize("p", [0, 1])
def test_layers__even_as_drawn_give_the_slab_at_that_angle(cosine, p):
    found = made(layered("x", ("brick", 0.225)), interference=True)
    for b, hz in enumerate(HZ):
        given = {"frequency_hz": hz, "cos_incidence": cosine, "polarisation": slab.POLARISATIONS[p]}
        step = round(cosine * STEPS)
        assert found.through[b, 0, p, step] == pytest.approx(slab.of_layers(BRICK, **given)[0][0], abs=1e-6)
        assert found.back[b, 0, p, step] == pytest.approx(slab.of_layers(BRICK, **given)[1][0], abs=1e-6)


@pytest.mark.parametrize("p", [0, 1])
def test_layers__uneven_give_mean_powers_with_the_sign_of_the_face(p):
    """Amplitudes whose squares are the mean powers; the sign is the first face's, which turns over in TM at Brewster's angle."""
    found = made(layered("x", ("brick", 0.225)))
    cosines = np.array([0.25, 0.5, 0.75, 1.0])
    steps = (cosines * STEPS).astype(int)
    for b, hz in enumerate(HZ):
        given = {"frequency_hz": hz, "cos_incidence": cosines, "polarisation": slab.POLARISATIONS[p]}
        through, back = slab.mean_powers(slab.sheets(BRICK, frequency_hz=hz), **given)
        assert np.abs(found.through[b, 0, p, steps]) ** 2 == pytest.approx(through, rel=1e-4)
        assert np.abs(found.back[b, 0, p, steps]) ** 2 == pytest.approx(back, rel=1e-4)
        ((eps, _),) = slab.sheets(BRICK, frequency_hz=hz)
        root = np.sqrt(eps - 1 + cosines**2)
        face = (cosines - root) / (cosines + root) if p == 0 else (eps * cosines - root) / (eps * cosines + root)
        assert np.sign(found.back[b, 0, p, steps].real) == pytest.approx(np.sign(face.real))


def test_between_the_steps__as_near_as_anyone_hears():
    """Half way between two steps, the table's straight line is off the law by under 0.01 dB above 10 degrees of grazing."""
    found = made(layered("x", ("glass", 0.006)), interference=True)
    cosines = (np.arange(90, STEPS) + 0.5) / STEPS
    read = ratio(found.through, np.zeros(len(cosines), np.int64), cosines)
    for b, hz in enumerate(HZ):
        for p, polarisation in enumerate(slab.POLARISATIONS):
            true = slab.of_layers(
                (Layer("glass", 0.006),), frequency_hz=hz, cos_incidence=cosines, polarisation=polarisation
            )[0]
            assert np.abs(20 * np.log10(np.abs(read[b, p]) / np.abs(true))).max() < 0.01


def test_straight_on__one_number_for_those_who_ask():
    """Layers: the mean power straight on, which no band shares; else the loss as noted."""
    one = layered("x", ("brick", 0.225))
    for b, band in enumerate(BANDS):
        told = -20 * math.log10(abs(made(one).through[b, 0, 0, STEPS]))
        assert normal_loss_db(one, band=band, frequency_hz=HZ[b]) == pytest.approx(told, abs=1e-4)
    assert normal_loss_db(plain("y", loss_db=7.5), band="5 GHz", frequency_hz=HZ[1]) == 7.5


def test_metal__is_as_dark_as_can_be_written_and_no_less():
    """A millimetre of metal: 2600 dB and more; the number stays finite."""
    found = normal_loss_db(layered("x", ("metal", 0.001)), band="5 GHz", frequency_hz=HZ[1])
    assert 300 < found <= 400
