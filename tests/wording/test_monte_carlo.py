"""What is said of trials."""

from app.wording import monte_carlo


def test_agreement_and_difference_are_said_by_name() -> None:
    alike = monte_carlo.sentence(100_000, 7, None, (), needed=False)
    assert alike == (
        "Uncertainties and probabilities come from 100,000 simulated measurements (Monte Carlo, "
        "seed 7). The usual calculation agrees with them."
    )
    differing = monte_carlo.sentence(20_000, 1, False, ("head_twist", "head_offset"), needed=True)
    assert "known too little for the usual calculation" in differing
    assert "not enough for the digits asked for" in differing
    assert differing.endswith("other limits for: head twist, head offset.")
