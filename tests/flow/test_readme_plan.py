"""The plan that the README shows is one that loads, opens a job and can be printed, and it uses every word of the language."""

import re
from pathlib import Path

import pytest

from collector.cli.main import main
from schemas.plan.load import load_whole
from schemas.plan.model import STEP_MODELS, JointModel, PlanModel

README = Path(__file__).parents[2] / "README.md"
# Said in the comments of the example, or the other way to write what stands there.
SAID_BESIDE = {"low", "high", "unit", "tolerance", "start", "pattern", "wrench", "drag", "source", "hardware"}


@pytest.fixture(name="plan")
def _plan(tmp_path):
    shown = re.findall(r"```yaml\n(.*?)```", README.read_text(encoding="utf-8"), re.DOTALL)
    assert len(shown) == 1
    path = tmp_path / "axle-example.yaml"
    path.write_text(shown[0], encoding="utf-8")
    return path


def test_the_plan_of_the_readme_loads_and_leaves_no_word_out(plan):
    whole = load_whole(plan.read_bytes(), plan.name)

    used = {name for joint in whole.written.joints for name in joint.model_fields_set}
    assert set(JointModel.model_fields) - used <= SAID_BESIDE
    words = {word for step in whole.written.steps for word, model in STEP_MODELS.items() if isinstance(step, model)}
    assert set(STEP_MODELS) - words == {"loose"} - words
    assert set(PlanModel.model_fields) - whole.written.model_fields_set == {"accepted", "counted"}


def test_a_job_is_opened_after_the_plan_of_the_readme_and_it_is_printed(plan, tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("WITNESSMARK_DB", str(tmp_path / "audit.db"))

    # 49 CFR 565.15 gives this number as its worked example of the check digit (read).
    assert main(["job", "open", str(plan), "--item", "1G4AH59H45G118341"]) == 0
    assert main(["job", "open", str(plan), "--item", "1G4AH59H45G11834O"]) == 2
    assert "O" in capsys.readouterr().err
    assert main(["plan", "sheet", str(plan), "--to", str(tmp_path / "sheet.pdf")]) == 0
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")
