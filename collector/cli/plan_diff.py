"""`witnessmark plan diff`: what a plan says differently from another, in words."""

import argparse
import json
from dataclasses import asdict

from collector.cli.place import say
from collector.cli.plan import read_plan
from schemas.errors import PlanError
from schemas.plan.diff import Accepted, PlanSays, diff_text, differences


def run_diff(chosen: argparse.Namespace) -> int:
    """Print every difference between two plans; 1 where there is one."""
    before, after = (read_plan(path) for path in (chosen.before, chosen.after))
    found = differences(*(PlanSays(plan.route, accepted_in(plan.data, plan.name)) for plan in (before, after)))
    if chosen.json:
        say(json.dumps({"format": 1, "differences": [asdict(one) for one in found]}, ensure_ascii=False, indent=1))
        return 1 if found else 0
    for line in diff_text(found):
        say(line)
    if not found and before.route.content_sha256 != after.route.content_sha256:
        say("they are written differently, so that their content hashes differ")
    return 1 if found else 0


def accepted_in(data: bytes, file: str) -> tuple[Accepted, ...]:
    """The findings that a plan lets stand; none where its text, kept by an older program, cannot be read any more."""
    from schemas.plan.load import load_whole

    try:
        written = load_whole(data, file).written
    except PlanError:
        return ()
    return tuple(Accepted(one.finding, tuple(one.joints or ()), one.reason) for one in written.accepted or ())
