"""Whether a stated torque is plausible for its thread, grade and preparation: plausibility, not joint design.

The results are ranges and words for somebody who reads a plan. They find a slipped decimal point, a wrong unit or a wrong
bolt size; they prove no joint and replace no figure: the maker's value rules.
"""
