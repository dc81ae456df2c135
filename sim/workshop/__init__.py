"""A made-up workshop: its plan, its people, its wrenches. Nothing in it is real."""
