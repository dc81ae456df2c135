"""What `plan check` finds in a plan: sentences for whoever writes it. Plausibility, not joint design: the maker's value rules."""
