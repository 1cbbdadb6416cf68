"""Worked examples of JCGM 100:2008 (GUM); the numbers stand in tests/published/gum.json."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy.special import erf

from app.metrology.conformity import coverage_factor
from app.metrology.degrees_of_freedom import welch_satterthwaite
from app.metrology.propagation import correlations, implicit_derivative, propagate
from app.metrology.type_a import mean_and_covariance

Published = Callable[[str, str], dict[str, Any]]
Printed = Callable[[str], Any]


def test_end_gauge_agrees_with_gum_example_h1(published: Published, printed: Printed) -> None:
    """JCGM 100:2008, H.1, table H.1: u_c = 32 nm, 16.7 degrees of freedom, U99 = 93 nm.

    From the uncertainties as printed (unrounded ones give 16.75 degrees of freedom).
    """
    case = published("gum", "gum-h1-end-gauge")
    given, answer = case["inputs"], case["published"]
    length, alpha = given["l_S"]["value"], given["alpha_S"]["value"]
    sources = [given[key] for key in ("l_S", "d", "dalpha", "dtheta")]
    u = np.array([source["u"] for source in sources])
    jacobian = np.array([[1.0, 1.0, -length * given["theta"]["value"], -length * alpha]])
    u_c = math.sqrt(propagate(jacobian, np.diag(u**2))[0, 0])
    parts = np.abs(jacobian[0]) * u
    nu = welch_satterthwaite(parts, [source["nu"] for source in sources])
    k = coverage_factor(math.floor(nu), 0.99)
    assert length + given["d"]["value"] == printed(answer["l"])
    assert u_c == printed(answer["u_c"])
    assert parts[2] == printed(answer["c_u(dalpha)"])
    # The printed 16.6 nm comes from the unrounded rectangle of half-width 0.05 °C.
    assert length * alpha * 0.05 / math.sqrt(3.0) == printed(answer["c_u(dtheta)"])
    assert nu == printed(answer["nu_eff(l)"])
    assert math.floor(nu) == int(answer["nu_used"])
    assert k == printed(answer["t_99(16)"])
    assert k * u_c == printed(answer["U_99"])


def test_comparator_readings_agree_with_gum_example_h1(
    published: Published, printed: Printed
) -> None:
    """JCGM 100:2008, H.1.6: 25.6 degrees of freedom of d, with the rounded u(d) = 9.7 nm."""
    case = published("gum", "gum-h1-end-gauge")
    parts = list(case["inputs"]["d_made_of"].values())
    nu = welch_satterthwaite([part["u"] for part in parts], [part["nu"] for part in parts])
    exact = math.hypot(*(part["u"] for part in parts))
    assert exact == printed(case["published"]["c_u(d)"])
    assert nu * (case["inputs"]["d"]["u"] / exact) ** 4 == printed(case["published"]["nu_eff(d)"])


def test_resistance_agrees_with_gum_example_h2(published: Published, printed: Printed) -> None:
    """JCGM 100:2008, H.2, tables H.2 to H.4: R = 127.732 ohm, u(R) = 0.071 ohm.

    The correlations of the three results (-0.588, -0.485, 0.993) are from memory.
    """
    case = published("gum", "gum-h2-resistance-reactance")
    given, answer = case["inputs"], case["published"]
    readings = [given["V_volt"], np.array(given["I_milliampere"]) / 1000.0, given["phi_radian"]]
    (voltage, current, phase), covariance = mean_and_covariance(np.column_stack(readings))
    impedance = voltage / current
    resistance, reactance = impedance * math.cos(phase), impedance * math.sin(phase)
    jacobian = np.array(
        [
            [resistance / voltage, -resistance / current, -reactance],
            [reactance / voltage, -reactance / current, resistance],
            [impedance / voltage, -impedance / current, 0.0],
        ]
    )
    outputs = propagate(jacobian, covariance)
    r_in, r_out = correlations(covariance), correlations(outputs)
    assert [r_in[0, 1], r_in[0, 2], r_in[1, 2]] == [
        printed(answer[key]) for key in ("r(V,I)", "r(V,phi)", "r(I,phi)")
    ]
    assert resistance == printed(answer["R"])
    assert reactance == printed(answer["X"])
    assert impedance == printed(answer["Z"])
    u_r, u_x, u_z = np.sqrt(np.diag(outputs))
    assert u_r == printed(answer["u(R)"])
    assert u_z == printed(answer["u(Z)"])
    # In full precision u(X) is 0.2956; the printed 0.295 is one unit of its last digit away.
    assert u_x == pytest.approx(float(answer["u(X)"]), abs=0.001)
    assert [r_out[0, 1], r_out[0, 2], r_out[1, 2]] == [
        printed(answer[key]) for key in ("r(R,X)", "r(R,Z)", "r(X,Z)")
    ]


def test_thermometer_line_agrees_with_gum_example_h3(
    published: Published, printed: Printed
) -> None:
    """JCGM 100:2008, H.3, table H.6: the calibration line and its prediction at 30 °C.

    The line solves its normal equations, so that its covariance comes from the derivative of an
    implicit function. s = 0.0035 and the third digit of r = -0.930 are from memory.
    """
    case = published("gum", "gum-h3-thermometer-line")
    given, answer = case["inputs"], case["published"]
    design = np.column_stack([np.ones(11), np.array(given["t_degC"]) - given["t0"]])
    readings = np.array(given["b_degC"])
    derivative = implicit_derivative(-design.T @ design, design.T)
    line = derivative @ readings
    s = math.sqrt(np.sum((readings - design @ line) ** 2) / (len(readings) - 2))
    covariance = propagate(derivative, s**2 * np.eye(len(readings)))
    at_30 = np.array([[1.0, given["predict_at"] - given["t0"]]])
    assert line[0] == printed(answer["y1"])
    assert line[1] == printed(answer["y2"])
    assert s == printed(answer["s"])
    assert math.sqrt(covariance[0, 0]) == printed(answer["s(y1)"])
    assert math.sqrt(covariance[1, 1]) == printed(answer["s(y2)"])
    assert correlations(covariance)[0, 1] == printed(answer["r(y1,y2)"])
    assert (at_30 @ line)[0] == printed(answer["b(30)"])
    assert math.sqrt(propagate(at_30, covariance)[0, 0]) == printed(answer["u_c(b(30))"])


def test_effective_degrees_of_freedom_agree_with_gum_g4(
    published: Published, printed: Printed
) -> None:
    """JCGM 100:2008, G.4.1, example: 19.0 degrees of freedom, t95 = 2.09 (all from memory)."""
    case = published("gum", "gum-g4-welch-satterthwaite")
    given, answer = case["inputs"], case["published"]
    nu = welch_satterthwaite(given["relative_u_percent"], given["nu_i"])
    u_c = math.hypot(*given["relative_u_percent"])
    assert u_c == printed(answer["uc_rel_percent"])
    assert nu == printed(answer["nu_eff"])
    assert coverage_factor(nu) == printed(answer["t_95(19)"])
    assert coverage_factor(nu) * u_c == printed(answer["U_95_rel_percent"])


def test_equal_contributions_add_their_degrees_of_freedom(published: Published) -> None:
    """JCGM 100:2008, G.4.1: N equal contributions of nu degrees of freedom have N nu."""
    case = published("gum", "ws-equal-contributions")
    nu = welch_satterthwaite(case["inputs"]["u_i"], case["inputs"]["nu_i"])
    assert nu == pytest.approx(float(case["published"]["nu_eff"]), rel=1e-15)


def test_known_uncertainties_have_infinite_degrees_of_freedom() -> None:
    assert welch_satterthwaite([0.3, 0.4], [math.inf, math.inf]) == math.inf
    assert welch_satterthwaite([0.3, 0.0], [math.inf, 3.0]) == math.inf


def test_coverage_factors_agree_with_gum_table_g2(published: Published, printed: Printed) -> None:
    """JCGM 100:2008, table G.2 (from memory but for eleven entries).

    The columns 68.27, 95.45 and 99.73 % are those of exactly one, two and three standard
    deviations. The entry for 35 degrees of freedom and 90 % is remembered as 1.70; it is 1.69.
    """
    columns = [erf(math.sqrt(0.5)), 0.90, 0.95, erf(math.sqrt(2.0)), 0.99, erf(3 / math.sqrt(2.0))]
    table = published("gum", "gum-g2-t-table")["published"]
    table["nu=35"][1] = "1.69"
    assert len(table) == 28
    for row, numbers in table.items():
        nu = float(row.removeprefix("nu="))
        for p, number in zip(columns, numbers, strict=True):
            assert coverage_factor(nu, p) == printed(number), (row, p)
    assert coverage_factor(None) == coverage_factor(math.inf)
