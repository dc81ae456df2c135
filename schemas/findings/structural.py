"""Why each structural error of a plan matters, and what to do where its own text does not say; each stops a job.

They are arithmetic and sense of the plan itself; the few facts of the trade among them name their source.
"""

from collections.abc import Mapping

_BAND = "A reading is judged against two edges, and both have to follow from the plan without guessing."
_ORDER = "The steps are walked from top to bottom, so what a step needs has to stand above it."
_ONCE = "One fastener is done once at a time; a second mention leaves open which of them counts."

STRUCTURAL: Mapping[str, tuple[str, str]] = {
    "unreadable": (
        "Nothing can be said of a plan whose text leaves open what it means.",
        "correct the text at this line",
    ),
    "field": (
        "A field that is left out, misspelt or not understood would be obeyed by nobody.",
        "write the field as the schema says: `witnessmark plan schema`",
    ),
    "more-faults": (
        "A list that nobody can read to its end helps nobody.",
        "put the first ones right and check again",
    ),
    "duplicate-id": (
        "Steps and records name a thing by its id, so two of one id cannot be told apart.",
        "give one of them another id",
    ),
    "stages-do-not-end-at-100": (
        "A joint whose last round is not the full torque would end loose.",
        "write 100 as the last stage",
    ),
    "stages-out-of-order": (
        "Rounds rise, so that the parts are drawn together evenly before any fastener has its full torque (MIL-HDBK-60).",
        "write the shares from the smallest to 100",
    ),
    "stage-in-the-band": (
        "A round that lies in the final's own band could not be told from the final.",
        "write a smaller share",
    ),
    "unknown-position": ("A position that the joint does not have cannot be torqued.", "write positions that the joint has"),
    "no-torque": ("Without a torque there is nothing to reach and nothing to judge.", "write the torque, or `not stated`"),
    "no-unit": ("A number without its unit can be wrong by a factor of ten.", "write the unit of the source"),
    "unknown-unit": ("A unit that is not known cannot be turned into a torque.", "write N·m, lbf·ft, lbf·in or kgf·m"),
    "no-tolerance": (_BAND, "write the tolerance that the source gives"),
    "two-bands": (_BAND, "keep one of the two"),
    "half-a-band": (_BAND, "write both edges"),
    "empty-band": (_BAND, "write edges that leave room between them"),
    "angle-without-tolerance": (_BAND, "write the tolerance that the source gives"),
    "drag-without-prevailing-nut": (
        "Only a nut that locks by friction takes torque before it seats.",
        "write `nut: prevailing`, or take `drag` out",
    ),
    "no-rule-for-small-drag": (
        "FAA AC 43.13-1B adds the drag always, TB 43-0218 only from a third of the torque on; the two give different edges.",
        "write `small_drag` at the top of the plan",
    ),
    "drag-in-another-unit": (
        "Drag and torque are added, which is exact in one unit only.",
        "write both in one unit",
    ),
    "unknown-joint": ("A step that names no joint of the plan would be done on nothing.", "name a joint of the plan"),
    "names-no-joint": ("A step that names no joint would be done on nothing.", "name a joint of the plan"),
    "named-twice": (_ONCE, "name it once"),
    "torqued-twice": (_ONCE, "open it in between, or recheck it"),
    "fitted-twice": (_ONCE, "write each position once"),
    "opened-before-torqued": (_ORDER, "move the step down"),
    "fitted-after-torqued": (_ORDER, "move the step up"),
    "recheck-before-torqued": (_ORDER, "move the step down"),
    "retorque-before-torqued": (_ORDER, "move the step down"),
    "waits-for-later-step": (_ORDER, "move what it waits for up"),
    "waits-for-nothing": (
        "A step that waits for what never comes is never begun.",
        "name a hold point or a joint of the plan",
    ),
    "steps-wait-for-each-other": ("Of steps that wait for each other none is ever begun.", "take one of the two out"),
    "left-open-for-good": (
        "A joint that is opened and never torqued again leaves the workshop loose.",
        "add a step that torques it",
    ),
    "left-loose-for-good": (
        "A joint that is left loose and never torqued leaves the workshop loose.",
        "add a step that torques it",
    ),
    "never-torqued": ("A joint that no step reaches is forgotten.", "add a step that torques it"),
    "never-fitted": ("A fastener that no step puts in is missing.", "add its position to a fit step"),
    "covered-before-torqued": (
        "What is out of reach cannot be torqued without taking the work apart again.",
        "torque it before it is covered",
    ),
    "cured-thread-moved": (
        "Turning a cured thread breaks its bond, so a check by torque would make the fault that it looks for.",
        "take the joint out of the step",
    ),
    "angle-checked-by-torque": (
        "After turning by an angle the torque depends on friction and yield, so it does not show whether the angle was reached.",
        "take the joint out of the step",
    ),
    "span-reversed": ("A span that ends before it begins is never due.", "write the smaller one first"),
}
"""By the id: why, and what to do."""
