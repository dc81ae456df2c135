"""A made-up workshop day: fitter, wrench and wire, as the real world would send it."""
