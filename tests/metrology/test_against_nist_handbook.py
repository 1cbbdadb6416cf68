"""Worked examples of the NIST/SEMATECH e-Handbook of Statistical Methods, read in stored copies."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from app.metrology.control_charts import cusum, ewma, individuals
from app.metrology.grubbs import grubbs

Published = Callable[[str, str], dict[str, Any]]
Printed = Callable[[str], Any]


def test_individuals_chart_of_the_flow_rates(published: Published, printed: Printed) -> None:
    """6.3.2.2. The handbook divides by 1.128, which is d2(2) to three decimals."""
    case = published("shop_metrology", "nist-individuals-flowrate")
    told, chart = case["published"], individuals(case["inputs"]["x"])
    assert chart.centre == printed(told["mean"])
    assert chart.mean_range == printed(told["MRbar"])
    by_its_d2 = chart.deviation * 2.0 / np.sqrt(np.pi) / case["inputs"]["d2(2)"]
    assert chart.centre + 3.0 * by_its_d2 == printed(told["UCL"])
    assert chart.centre - 3.0 * by_its_d2 == printed(told["LCL"])
    assert chart.upper == pytest.approx(float(told["UCL"]), abs=2e-3)
    assert chart.lower == pytest.approx(float(told["LCL"]), abs=2e-3)


def test_moving_averages(published: Published) -> None:
    """6.3.2.4. The limits of the handbook are those after many values; its factor is rounded."""
    case = published("shop_metrology", "nist-ewma")
    given, told = case["inputs"], case["published"]
    found = ewma(given["x"], given["lambda"], given["EWMA0"], given["s"], given["k"])
    averages = [float(one) for one in told["EWMA"]]
    assert found.averages == pytest.approx(averages, abs=0.00501)
    assert found.upper_limit == pytest.approx(float(told["UCL"]), abs=2e-4)
    assert found.lower_limit == pytest.approx(float(told["LCL"]), abs=2e-4)
    assert not np.any((found.averages > found.upper_limit) | (found.averages < found.lower_limit))


def test_tabular_cusum(published: Published) -> None:
    """6.3.2.3, with ties rounded either way."""
    case = published("shop_metrology", "nist-cusum-tabular")
    given, told = case["inputs"], case["published"]
    found = cusum(given["group_means"], given["target"], given["k"], given["h"])
    assert found.high == pytest.approx([float(one) for one in told["S_hi"]], abs=0.00501)
    assert found.low == pytest.approx([float(one) for one in told["S_lo"]], abs=0.00501)
    assert found.first_signal is not None
    assert found.first_signal + 1 == int(told["first_signal_group"])


def test_grubbs_test_of_the_uranium_isotopes(published: Published) -> None:
    """1.3.5.17.1, the largest value alone; the handbook truncates its statistic."""
    case = published("shop_metrology", "nist-grubbs")
    given, told = case["inputs"], case["published"]
    found = grubbs(given["x"], given["alpha"], "above")
    assert found.statistic == pytest.approx(float(told["G"]), abs=1e-4)
    assert found.critical == pytest.approx(float(told["critical"]), abs=5e-4)
    assert (found.outlier, given["x"][found.place]) == (True, 245.57)
