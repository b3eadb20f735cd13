"""Wire mesh against a table computed elsewhere, a field solver, and what any sheet must do."""

import csv
import math
import pathlib

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pullstring.radio.mesh import mesh_transmission, strip_grid_transmission

FILE = pathlib.Path(__file__).parents[1] / "authorities" / "radio" / "mesh_shielding.csv"
ROWS = [row for row in csv.DictReader(FILE.read_text("utf-8").splitlines()) if row["sheet_valid"]]
HELD = [row for row in ROWS if row["sheet_valid"] != "no"]


def db(amplitude) -> float:
    return float(-20 * np.log10(np.abs(amplitude)))


def sheet_db(row, degrees: float, polarisation: str) -> float:
    return db(
        mesh_transmission(
            cell_m=float(row["cell_mm"]) / 1e3,
            wire_diameter_m=float(row["wire_diameter_mm"]) / 1e3,
            wire_ohm=0.0,
            frequency_hz=float(row["f_ghz"]) * 1e9,
            cos_incidence_ratio=math.cos(math.radians(degrees)),
            polarisation=polarisation,
        )
    )


def grid_db(row) -> float:
    cell_m, wire_m = float(row["cell_mm"]) / 1e3, float(row["wire_diameter_mm"]) / 1e3
    return db(strip_grid_transmission(cell_m=cell_m, strip_m=2 * wire_m, frequency_hz=float(row["f_ghz"]) * 1e9))


def named(row) -> str:
    return f"{row['cell_mm']} mm {row['f_ghz']} GHz"


@pytest.mark.parametrize("row", HELD, ids=named)
def test_sheet__equals_the_table(row):
    assert sheet_db(row, 0, "TE") == pytest.approx(float(row["sheet_loss_db_0deg"]), abs=0.01)
    assert sheet_db(row, 0, "TM") == pytest.approx(float(row["sheet_loss_db_0deg"]), abs=0.01)
    assert sheet_db(row, 45, "TE") == pytest.approx(float(row["sheet_TE_45deg"]), abs=0.01)
    assert sheet_db(row, 45, "TM") == pytest.approx(float(row["sheet_TM_45deg"]), abs=0.01)


@pytest.mark.parametrize("row", [row for row in ROWS if row["sheet_valid"] == "no"], ids=named)
def test_sheet__refuses_where_the_table_calls_it_out_of_range(row):
    with pytest.raises(ValueError, match="wavelengths are too many"):
        sheet_db(row, 0, "TE")


@pytest.mark.parametrize("row", [row for row in ROWS if float(row["cell_over_lambda"]) < 1], ids=named)
def test_grid__equals_the_table_and_is_near_the_field_solver(row):
    assert grid_db(row) == pytest.approx(float(row["strip_grid_loss_db"]), abs=0.05)
    assert grid_db(row) == pytest.approx(float(row["fdtd_loss_db"]), abs=1.5)


def test_grid__refuses_a_cell_of_more_than_a_wavelength():
    (row,) = [row for row in ROWS if float(row["cell_over_lambda"]) > 1]
    with pytest.raises(ValueError, match="below 1"):
        grid_db(row)


@pytest.mark.parametrize("row", HELD, ids=named)
def test_sheet__is_within_2_and_a_half_db_of_the_field_solver(row):
    assert sheet_db(row, 0, "TE") == pytest.approx(float(row["fdtd_loss_db"]), abs=2.5)


@given(st.floats(0.005, 0.02), st.floats(0.0003, 0.002), st.floats(0.05, 1), st.sampled_from(["TE", "TM"]))
def test_sheet__gives_no_power_and_stops_less_at_a_higher_frequency(cell_m, wire_m, cos, polarisation):
    def found(hz):
        return mesh_transmission(
            cell_m=cell_m,
            wire_diameter_m=wire_m,
            wire_ohm=0.0,
            frequency_hz=hz,
            cos_incidence_ratio=cos,
            polarisation=polarisation,
        )

    low, high = found(2.4e9), found(4.8e9)
    # A sheet without loss passes T and reflects T - 1; all power is in the two.
    assert abs(low) ** 2 + abs(1 - low) ** 2 == pytest.approx(1)
    assert abs(low) < abs(high) < 1


def test_sheet__of_resistance_alone_by_hand():
    """Two hundred ohms of the sheet alone: T = x / (1 + x), x = 400 / 377."""
    found = mesh_transmission(
        cell_m=1e-6,
        wire_diameter_m=0.9e-6,
        wire_ohm=200.0,
        frequency_hz=1e6,
        cos_incidence_ratio=1.0,
        polarisation="TE",
    )
    assert found == pytest.approx(400 / 376.73 / (1 + 400 / 376.73), abs=1e-4)


def test_sheet__a_wire_as_thick_as_its_cell_and_a_third_polarisation_are_refused():
    held = {"cell_m": 0.012, "wire_ohm": 0.0, "frequency_hz": 2.45e9, "cos_incidence_ratio": 1.0}
    with pytest.raises(ValueError, match="thinner than its cell"):
        mesh_transmission(**held, wire_diameter_m=0.012, polarisation="TE")
    with pytest.raises(ValueError, match="write TE or TM"):
        mesh_transmission(**held, wire_diameter_m=0.001, polarisation="vertical")
