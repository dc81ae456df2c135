"""The words of the trade are closed sets, and the proof of a joint is the worst of its fasteners."""

import pytest

from schemas.words import (
    PROOF_ORDER,
    Kind,
    Link,
    Measures,
    Method,
    PositionBy,
    Proof,
    Role,
    Said,
    StageWord,
    StepWord,
    Verdict,
)


@pytest.mark.parametrize(
    ("words", "texts"),
    [
        pytest.param(Kind, "tightening, short pull, repeat, recheck, loosening, stray", id="kind"),
        pytest.param(Verdict, "under, in band, over, marginal, held, moved", id="verdict"),
        pytest.param(Proof, "proven, declared, doubtful, failed, missed, left loose, not fitted", id="proof"),
        pytest.param(Measures, "highest, first, click, set", id="measures"),
        pytest.param(Role, "fitter, lead, second person", id="role"),
        pytest.param(Link, "open, lost, back, ended", id="link"),
        pytest.param(
            Said,
            "stripes, same again, not this job, opened, other joint, inspected, replaced, let stand, declared, prepared, "
            "not fitted, moved, drag, as found, covered, not done, not looked, taken note, position confirmed",
            id="said",
        ),
        pytest.param(StepWord, "do, caution, fit, loose, torque, open, hold point, recheck, retorque", id="step-word"),
        pytest.param(PositionBy, "order, confirmed", id="position-by"),
        pytest.param(StageWord, "round, angle, recheck", id="stage-word"),
        pytest.param(Method, "do not slacken, back off a turn", id="method"),
    ],
)
def test_a_set_of_words_is_closed(words, texts):
    assert {str(word) for word in words} == set(texts.split(", "))


def test_rule_1_the_order_of_proof_goes_from_proven_to_failed():
    assert set(PROOF_ORDER) == set(Proof)
    assert PROOF_ORDER[0] is Proof.PROVEN
    assert PROOF_ORDER[-1] is Proof.FAILED
    complete = [Proof.PROVEN, Proof.DECLARED, Proof.NOT_FITTED]
    assert max(map(PROOF_ORDER.index, complete)) < min(PROOF_ORDER.index(proof) for proof in Proof if proof not in complete)
