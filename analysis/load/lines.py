"""What a job's record says in short lines for a terminal, beside its measured stages. Pure."""

from collections.abc import Iterator

from analysis.load.counted import counted_text
from analysis.load.places import isolated
from analysis.load.record import JobRecord
from schemas.words import Proof


def job_lines(record: JobRecord) -> list[str]:
    """What the stages and the reasons leave out.

    How it is known that no fastener was left out; joints without a stated torque, which only a person can declare; from when
    on joints may be loaded; the job that a retorque follows; how much was open on the plan; what became of retorques; what it
    was closed as.
    """
    return [*_follows(record), *_counted(record), *_findings(record), *_unstated(record), *_loadings(record), *_retorques(record)]


def _follows(record: JobRecord) -> Iterator[str]:
    if record.follows is not None:
        gone = f", after {record.distance}" if record.distance else ""
        yield f"retorque of job {record.follows}, step {record.step} of its plan{gone}"
    if record.outcome is not None:
        reason = f" ({record.outcome_reason})" if record.outcome_reason else ""
        yield f"closed as: {record.outcome}{reason}"


def _counted(record: JobRecord) -> Iterator[str]:
    if record.p_limit is not None:
        yield f"the shop asks for p = {record.p_limit} before it takes anything for sure"
    for joint in record.route.joints:
        if (text := counted_text(record, joint.id)) is not None:
            yield f"{isolated(joint.name)}, {text}"


def _findings(record: JobRecord) -> Iterator[str]:
    if count := len(record.findings):
        yield f"{count} finding{'' if count == 1 else 's'} of the plan check stood open when the job was opened: see its report"


def _unstated(record: JobRecord) -> Iterator[str]:
    for joint in record.unstated:
        settled = [one for one in record.fasteners_of(joint.id) if one.proof in (Proof.DECLARED, Proof.NOT_FITTED)]
        yield f"{isolated(joint.name)}, torque not stated: {len(settled)} of {joint.fasteners} declared or not fitted"


def _loadings(record: JobRecord) -> Iterator[str]:
    for row in record.loadings:
        yield f"{isolated(row.joint_name)}: {row.text}{f', last pull on {row.pulled_on}' if row.pulled_on else ''}"


def _retorques(record: JobRecord) -> Iterator[str]:
    for due in record.retorques:
        jobs = [job.text for job in due.jobs]
        yield f"retorque of {'; '.join(map(isolated, due.joints))} from {due.span}: {'; '.join(jobs) or 'no job yet'}"
