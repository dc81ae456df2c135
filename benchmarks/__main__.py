"""`python -m benchmarks`: measures every number of the table, prints it and writes it to `benchmarks/RESULTS.md`."""

import argparse
import sys
from importlib import import_module
from pathlib import Path

from benchmarks.table import Row, as_markdown, machine

PARTS = {
    "screen": "wire_to_screen",
    "several": "several",
    "faults": "faults",
    "live": "live_commits",
    "import": "log_import",
    "matching": "matching",
    "matchers": "matchers",
    "verify": "verify_ledger",
    "drift": "drift",
    "plan": "plan_mistakes",
    "startup": "startup",
    "report": "report",
}
RESULTS = Path(__file__).with_name("RESULTS.md")


def main() -> int:
    """Measure what was asked for; the file is written by a whole run of full size only. Gives 1 where a number is not reached."""
    chosen = _chosen()
    parts = chosen.only or list(PARTS)
    # All of them first: a whole run takes minutes, and what cannot be loaded should be told at once.
    modules = {part: import_module(f"benchmarks.{PARTS[part]}") for part in parts}
    rows: list[Row] = []
    for part, module in modules.items():
        print(f"measuring {part} …", file=sys.stderr, flush=True)
        found = module.rows(chosen.quick)
        for row in found:
            print(f"  {row.what}: {row.measured}", file=sys.stderr, flush=True)
        rows += found
    text = as_markdown(rows)
    print(text)
    print(machine())
    if not chosen.quick and not chosen.only:
        RESULTS.write_text(
            "# Measured numbers\n\nWritten by `python -m benchmarks`; each way is run in turn with its baseline, in one run.\n\n"
            f"Machine: {machine()}. All data is SIMULATED.\n\n{text}",
            encoding="utf-8",
        )
    return int(any(row.reached is False for row in rows))


def _chosen() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m benchmarks", description="Measures the numbers that the whole must reach.")
    parser.add_argument("--quick", action="store_true", help="small sizes, only to see that it runs; RESULTS.md stays")
    parser.add_argument("--only", type=_parts, metavar="PART,…", help=f"of {', '.join(PARTS)}; RESULTS.md stays")
    return parser.parse_args()


def _parts(text: str) -> list[str]:
    parts = text.split(",")
    unknown = [part for part in parts if part not in PARTS]
    if unknown:
        raise argparse.ArgumentTypeError(f"{unknown[0]}: there is none of that name; choose of {', '.join(PARTS)}")
    return parts


if __name__ == "__main__":
    sys.exit(main())
