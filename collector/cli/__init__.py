"""The command line: the one place where collector, analysis and sim are put together."""
