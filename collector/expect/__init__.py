"""What comes next, and where a reading belongs. `matcher` is the interface, `in_order` the plan's order as the only clue."""
