"""What tests of the matcher share: a job lived reading by reading through the pure fold, with pauses that a test sets."""

from datetime import UTC, datetime, timedelta

import pytest

from collector.expect.bounds import stays_over
from collector.expect.learned import habits_of
from collector.expect.probable import Probable
from collector.flag import flag_match
from schemas.bodies import Decided, LinkKept, PlanChanged
from schemas.fastener_state import At

BEGUN = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)


@pytest.fixture(scope="session", name="new_live")
def _new_live(new_job):
    """Makes a job with its plan that `Probable` follows; of session scope, so that a property test may use it."""

    class Live(new_job):
        """Each pull comes `after_s` seconds after the one before; matches and counts are recorded as the flow does it."""

        def __init__(self, plan):
            self.at_s = 0.0
            super().__init__(plan)
            self.matcher = Probable(habits_of(None))
            self.made = []

        def put(self, body, by="p-1"):
            seq = len(self.entries) + 1
            at = At(seq, (BEGUN + timedelta(seconds=self.at_s)).isoformat(), by)
            self.entries.append((at, body))
            self.fold.apply(at, body)
            for table, key in self.fold.take_gone():
                self.stored.pop((table.name, key), None)
            self.stored |= {(table.name, row[: table.keys]): row for table, row in self.fold.take_rows()}
            return seq

        def pull(self, torque, after_s=8.0, **more):
            """A reading taken as the flow takes it; gives it with its match."""
            self.at_s += after_s
            pull = self.state.pulls[self.read(torque, **more)]
            self._keep(self.matcher.match_reading(self.state, pull))
            return pull

        def pulls(self, *torques, after_s=8.0, **more):
            return [self.pull(torque, after_s, **more) for torque in torques]

        def decide(self, said, joint=None, position=None, **more):
            """What a person says, with what the matcher makes of it."""
            decided = Decided("1", said, joint, position, **more)
            self.put(decided)
            self._keep(self.matcher.match_said(self.state, decided))
            return decided

        def lose_link(self, joint=None):
            self.put(LinkKept("1", "serial:tty", "lost", joint))
            self.put(LinkKept("1", "serial:tty", "back"))

        def change(self, plan):
            self.put(PlanChanged("1", self.keep_plan(plan), "revised"))

        def resume(self):
            """Another run on the same record."""
            self.matcher = Probable(habits_of(None))

        def p_of(self, joint, stage=1):
            """The last count of a place, None where there is none."""
            kept = self.state.counted.get((joint, stage))
            return None if kept is None else float(kept[1])

        def places(self):
            return [(one.match.kind, one.match.joint, one.match.stage, one.match.position) for one in self.state.pulls.values()]

        def _keep(self, matches):
            self.made.append(matches)
            for match in matches:
                flagged = flag_match(match, self.state)
                if stays_over(self.state.pulls[match.reading], flagged[-1]):
                    for one in flagged:
                        self.put(one)
            for count in self.matcher.count(self.state):
                self.put(count)

    return Live
