"""Which function of the program answers for which quantity of the check rows, and in which units the rows speak.

Only names and units stand here: MHz to Hz, 100 m to m, ns to s. The laws are the program's own. They are imported when a row
asks for them, so a law that is missing fails its rows and no others.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from pullstring.model.norms import block_rows, pair_colours, rj21_pins

MHZ = 1e6
HUNDRED_M = 100.0
KFT = 304.8  # metres in 1000 ft, exact

MODELS = {
    "awg24": "awg24",
    "awg26": "awg26",
    "cat5": "cat5",
    "low_T05h": "T05h",
    "medium_T05b": "T05b",
    "access_T05u": "T05u",
}


def law(path: str, **numbers: Any) -> Any:
    """`room.module.function` of the program, called."""
    module, _, function = path.rpartition(".")
    return getattr(importlib.import_module(f"pullstring.{module}"), function)(**numbers)


class Inputs(dict[str, str]):
    """The inputs of a row: numbers by name, words by index."""

    def __getattr__(self, name: str) -> float:
        if name not in self:
            raise AttributeError(name)
        return float(self[name])

    @property
    def hz(self) -> float:
        return self.f * MHZ


Law = Callable[[Inputs], Any]


def of_cable(function: str) -> Law:
    return lambda i: law(f"copper.limits.{function}", category=i["cat"], frequency_hz=i.hz)


def of_link(part: str, what: str, edition: str | None = None, key: str = "cat") -> Law:
    return lambda i: (
        law(f"copper.limits_channel.{part}_limit", category=i[key], what=what, frequency_hz=i.hz, edition=edition).value
    )


def in_ns(part: str) -> Law:
    limit = f"copper.limits_channel.{part}_limit"
    return lambda i: law(limit, category="5e", what="delay", frequency_hz=i.hz).value * 1e9


def of_phy(name: str, what: str = "loss") -> Law:
    return lambda i: law("copper.phy_limits.phy_limit", name=name, what=what, frequency_hz=i.hz).value


LIMITS: Mapping[str, Law] = {
    "cable_il": lambda i: law("copper.limits.cable_loss_db", category=i["cat"], frequency_hz=i.hz, length_m=HUNDRED_M),
    "cable_next": of_cable("cable_next_db"),
    "cable_rl": lambda i: law("copper.limits.cable_return_loss_db", category="6A", frequency_hz=i.hz),
    "conn_next_capped": of_cable("connector_next_db"),
    "conn_il": of_cable("connector_loss_db"),
    "channel_il_tsb67": of_link("channel", "loss", "tsb67"),
    "basiclink_il_tsb67": of_link("link", "loss", "tsb67"),
    "channel_il": of_link("channel", "loss"),
    "plink_il": of_link("link", "loss"),
    "channel_il_iso": of_link("channel", "loss", "11801", "cls"),
    "channel_next": of_link("channel", "next"),
    "link_next": of_link("link", "next"),
    "channel_acrf": of_link("channel", "acrf"),
    "channel_rl": of_link("channel", "return loss"),
    "delay_cable": lambda i: law("copper.delay.cable_delay_s", frequency_hz=i.hz, length_m=HUNDRED_M) * 1e9,
    "delay_channel": in_ns("channel"),
    "delay_plink": in_ns("link"),
    "delay_limited_length": lambda i: law(
        "copper.delay.length_for_delay_m",
        delay_s=i.limit_ns * 1e-9,
        delay_s_per_m=i.ns_per_100m * 1e-9 / HUNDRED_M,
    ),
    "il_temp_factor": lambda i: law("copper.cords.loss_temperature_factor", kind=i["kind"], temperature_c=i.T),
    "len_derated_table": lambda i: law("copper.cords.derated_link_m", temperature_c=i.T),
    "len_derated_simple": lambda i: law("copper.cords.derated_link_by_factor_m", kind="utp", temperature_c=i.T),
    "cord_total": lambda i: law("copper.cords.total_cord_m", horizontal_m=i.H, derating_ratio=i.D),
    "phy_1000baset_il": of_phy("1000BASE-T"),
    "phy_1000baset_next": of_phy("1000BASE-T", "next"),
    "phy_10baset1l_il": of_phy("10BASE-T1L"),
    "phy_10baset1s_il": of_phy("10BASE-T1S"),
    "phy_100baset1_il": of_phy("100BASE-T1"),
    "phy_1000baset1_il": of_phy("1000BASE-T1"),
    "ring_peak": lambda i: law("copper.phy_limits.ringing_peak_v", ringing_v=i.vrms, battery_v=i.vdc),
}


def salz_db(first_db: float, last_db: float) -> float:
    """Signal to noise that runs straight from one value to another over any band."""
    f_hz = np.linspace(1 * MHZ, 2 * MHZ, 1001)
    return float(law("copper.receiver.salz_snr_db", frequency_hz=f_hz, snr_db=np.linspace(first_db, last_db, 1001)))


LINE: Mapping[str, Law] = {
    "model_att": lambda i: law(
        "copper.line_models.attenuation_db", model=MODELS[i["model"]], frequency_hz=i.hz, length_m=HUNDRED_M
    ),
    "pw_att": lambda i: law(
        "copper.line_models.power_law_db", diameter_m=i.d_mm * 1e-3, frequency_hz=i.hz, length_m=HUNDRED_M
    ),
    "tap_null": lambda i: law("copper.cascade.tap_null_hz", length_m=i.L, velocity_factor=i.vf, order=1) / MHZ,
    "tap_loss_long": lambda i: law("copper.cascade.long_tap_loss_db"),
    "tap_loss": lambda i: law("copper.cascade.matched_tap_loss_db", model="awg24", length_m=i.L, frequency_hz=i.hz),
    "mismatch_loss": lambda i: law("copper.cascade.mismatch_loss_db", first_ohm=i.z1, second_ohm=i.z2),
    "next_dsl": lambda i: law("copper.crosstalk.binder_next_db", frequency_hz=i.hz, disturbers=int(i.n)),
    "next_scaled": lambda i: law(
        "copper.crosstalk.next_scaled_db",
        next_db=i.ref_db,
        at_hz=i.f_ref * MHZ,
        frequency_hz=i.hz,
        disturbers=int(i.n),
    ),
    "salz_flat": lambda i: salz_db(i.snr, i.snr),
    "salz_ramp": lambda i: salz_db(i.hi, i.lo),
    "salz_link": lambda i: law(
        "copper.receiver.worst_link_snr_db",
        category=i["cat"],
        length_m=i.L,
        disturbers=int(i.n),
        top_hz=i.fmax * MHZ,
    ),
    "capacity_flat": lambda i: law("copper.receiver.capacity_bps", band_hz=i.B_mhz * MHZ, snr_db=i.snr_db) / 1e6,
    "shannon_gap": lambda i: law("copper.receiver.shannon_gap_db", error_rate=i.ber),
    "pam_snr_req": lambda i: law("copper.receiver.pam_snr_required_db", levels=int(i.M), error_rate=i.ber),
    "bits_per_hz": lambda i: law(
        "copper.receiver.bits_per_hz", rate_bps=i.rate_mbps * 1e6, pairs=int(i.pairs), nyquist_hz=i.nyquist_mhz * MHZ
    ),
}


POWER: Mapping[str, Law] = {
    "awg_d": lambda i: law("copper.line.gauge_diameter_m", awg=i.n) * 1e3,
    "awg_r": lambda i: law("copper.line.conductor_ohm_per_m", awg=i.n, temperature_c=20) * HUNDRED_M,
    "awg_r_kft": lambda i: law("copper.line.conductor_ohm_per_m", awg=i.n, temperature_c=75) * KFT,
    "r_temp_nec": lambda i: law("copper.line.nec_ohm", ohm_at_75c=i.r75, temperature_c=i.T),
    "loop_pair": lambda i: law("copper.dc_limits.pair_loop_ohm", conductor_ohm_per_m=i.r100 / HUNDRED_M, length_m=i.L),
    "loop_poe": lambda i: law(
        "copper.dc_limits.pairset_loop_ohm",
        conductor_ohm_per_m=i.r100 / HUNDRED_M,
        length_m=i.L,
        pairs=int(i.pairs),
    ),
    "max_len_for_loop": lambda i: law(
        "copper.dc_limits.length_for_pairset_loop_m",
        loop_ohm=i.rmax,
        conductor_ohm_per_m=i.r100 / HUNDRED_M,
        pairs=2,
    ),
    "loop_to_length": lambda i: law("copper.line.length_from_loop_m", loop_ohm=i.r_loop, awg=i.awg, temperature_c=20),
    "poe_pse": lambda i: law("power.loop.supply_power_w", supply_v=i.V, load_w=i.P_pd, loop_ohm=i.R),
    "poe_vpd": lambda i: law("power.loop.load_voltage_v", supply_v=i.V, load_w=i.P_pd, loop_ohm=i.R),
    "poe_ppd": lambda i: law("power.loop.load_power_w", supply_v=i.V, current_a=i.I, loop_ohm=i.R),
    "poe_pmax": lambda i: law("power.loop.greatest_load_w", supply_v=i.V, loop_ohm=i.R),
    "poe_rmax": lambda i: law("power.loop.greatest_loop_ohm", supply_v=i.V, load_w=i.P_pd, supply_w=i.P_pse),
    "poe_cond_ma": lambda i: (
        law(
            "power.heat.conductor_current_a",
            current_a=law("power.loop.load_current_a", supply_v=i.V, load_w=i.P_pd, loop_ohm=i.R),
            pairs=int(i.pairs),
        )
        * 1e3
    ),
    "scale_rise": lambda i: law("power.heat.bundle_rise_scaled_c", rise_c=i.rise, from_a=i.i0, to_a=i.i1),
    "lp_ok": lambda i: float(law("power.heat.lp_rating_ok", rise_c=i.rise, rating_c=i.rating)),
    "cable_w_per_m": lambda i: law("power.heat.cable_heat_w_per_m", awg=i.awg, conductor_a=i.i_cond, temperature_c=20),
    "peukert": lambda i: law("power.ups.peukert_hours", capacity_ah=i.C, rate_h=i.H, current_a=i.I, exponent=i.k),
    "peukert_1a": lambda i: law("power.ups.peukert_hours_at_1a", capacity_ah=i.Cp, current_a=i.I, exponent=i.k),
    "peukert_k": lambda i: law(
        "power.ups.peukert_exponent", first_ah=i.c1, first_h=i.h1, second_ah=i.c2, second_h=i.h2
    ),
    "ups_peukert_min": lambda i: law(
        "power.ups.ups_minutes_by_peukert",
        load_w=i.P,
        efficiency=i.eff,
        battery_v=i.V,
        capacity_ah=i.C,
        rate_h=i.H,
        exponent=i.k,
        capacity_left=i.age,
    ),
    "ups_wh": lambda i: (
        law(
            "power.ups.ups_minutes_by_energy",
            load_w=i.P,
            efficiency=i.eff,
            battery_v=i.V,
            capacity_ah=i.C,
            capacity_left=i.derate,
        )
        / 60
    ),
    "btu": lambda i: law("power.heat.btu_per_h", heat_w=i.W),
    "closet_heat": lambda i: law(
        "power.heat.closet_heat_w", base_w=i.base_w, delivered_w=i.poe_w, efficiency=i.psu_eff
    ),
}

PAIRS: Mapping[str, Law] = {
    "pair_colour": lambda i: "/".join(pair_colours(int(i.n))),
    "rj21_pins": lambda i: "/".join(str(pin) for pin in rj21_pins(int(i.n))),
    "block66_rows": lambda i: "/".join(str(row) for row in block_rows(int(i.n))),
}

LAWS: Mapping[str, Law] = {**LIMITS, **LINE, **POWER, **PAIRS}
