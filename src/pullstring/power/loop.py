"""A load that draws constant power at the end of a resistive loop.

A device with a switching supply behaves so: as the voltage falls it draws more current, until it collapses.
NaN means that no voltage can carry the power; it ends here and never reaches an answer.
"""

from __future__ import annotations

import math


def load_voltage_v(*, supply_v: float, load_w: float, loop_ohm: float) -> float:
    r"""Voltage left at a constant-power load at the end of a resistive loop.

    Ohm's law gives :math:`V^2 - V_s V + P R = 0`; the device settles on the larger root.

    Parameters
    ----------
    supply_v : float
        Voltage at the source, :math:`V_s`, above zero. [V]
    load_w : float
        Power drawn by the device, :math:`P`, zero or more. [W]
    loop_ohm : float
        Out-and-back resistance of the powered pairs, :math:`R`, zero or more. [ohm]

    Returns
    -------
    float
        Voltage at the device; NaN where no voltage can carry the power. [V]

    References
    ----------
    IEEE 802.3 clauses 33 and 145 (end points only; the quadratic is ours).
    Checked in ``tests/published/test_ieee8023_power.py`` and ``test_always_on_24v.py``.
    """
    V_s, P, R = supply_v, load_w, loop_ohm
    under_root = V_s**2 - 4 * P * R
    return math.nan if under_root < 0 else (V_s + math.sqrt(under_root)) / 2


def load_current_a(*, supply_v: float, load_w: float, loop_ohm: float) -> float:
    r"""Current in the loop, :math:`I = P / V` with the larger root :math:`V`.

    The same as :math:`(V_s - \sqrt{V_s^2 - 4 P R}) / 2R`, and good for R = 0 as well.

    Parameters
    ----------
    supply_v : float
        Voltage at the source, above zero. [V]
    load_w : float
        Power drawn by the device, zero or more. [W]
    loop_ohm : float
        Out-and-back resistance of the powered pairs, zero or more. [ohm]

    Returns
    -------
    float
        Current; NaN where no voltage can carry the power. [A]

    References
    ----------
    As `load_voltage_v`. Checked in ``tests/published/test_ieee8023_power.py``.
    """
    return load_w / load_voltage_v(supply_v=supply_v, load_w=load_w, loop_ohm=loop_ohm)


def supply_power_w(*, supply_v: float, load_w: float, loop_ohm: float) -> float:
    """Power the source must give: the load and what heats the wire.

    Parameters
    ----------
    supply_v : float
        Voltage at the source, above zero. [V]
    load_w : float
        Power drawn by the device, zero or more. [W]
    loop_ohm : float
        Out-and-back resistance of the powered pairs, zero or more. [ohm]

    Returns
    -------
    float
        Power at the source; NaN where no voltage can carry the load. [W]

    References
    ----------
    V_s I. Checked both ways in ``tests/published/test_ieee8023_power.py``.
    """
    return supply_v * load_current_a(supply_v=supply_v, load_w=load_w, loop_ohm=loop_ohm)


def greatest_load_w(*, supply_v: float, loop_ohm: float) -> float:
    r"""Greatest power that can arrive at all, :math:`V_s^2 / 4R`; half of the voltage is then lost.

    A bound, not a plan: a device collapses before it.

    Parameters
    ----------
    supply_v : float
        Voltage at the source, above zero. [V]
    loop_ohm : float
        Out-and-back resistance of the powered pairs, zero or more. [ohm]

    Returns
    -------
    float
        Power at the device; infinite for a loop without resistance. [W]

    References
    ----------
    The root of `load_voltage_v` vanishes there. Checked in ``tests/published/test_always_on_24v.py``.
    """
    V_s, R = supply_v, loop_ohm
    return math.inf if R == 0 else V_s**2 / (4 * R)
