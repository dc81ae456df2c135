"""Finds out how an unknown wrench lays out its records, from bytes and the values that a person read off it. Pure."""
