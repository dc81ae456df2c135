"""Start-up of `witnessmark --help`, and which slow libraries it must not load."""

import json
import subprocess
import sys
from statistics import median

from benchmarks.measure import in_turn, timed, times_as_long
from benchmarks.table import Row
from benchmarks.workshop import witnessmark

WANTED_MS = 200
SLOW = ("pandas", "matplotlib", "bleak", "sqlite_utils", "pydantic", "numpy", "scipy", "typst", "openpyxl")
_LOADED = f"""
import contextlib, io, json, sys
from collector.cli.main import main
with contextlib.redirect_stdout(io.StringIO()), contextlib.suppress(SystemExit):
    main(["--help"])
print(json.dumps([name for name in {SLOW!r} if name in sys.modules]))
"""


def rows(quick: bool) -> list[Row]:
    """Milliseconds from the command to its end, and the slow libraries that were loaded on the way."""
    command = witnessmark()
    rounds = 2 if quick else 15
    helped, bare = in_turn(rounds, lambda: _seconds(*command, "--help"), lambda: _seconds(sys.executable, "-c", "pass"))
    help_ms, bare_ms = median(helped) * 1000, median(bare) * 1000
    loaded = json.loads(subprocess.run([sys.executable, "-c", _LOADED], check=True, capture_output=True, text=True).stdout)
    return [
        Row(
            "witnessmark --help", f"python -c pass: {bare_ms:.0f} ms", f"{help_ms:.0f} ms",
            f"{times_as_long(helped, bare):.1f} × as long", f"{WANTED_MS} ms", help_ms <= WANTED_MS,
        ),
        Row(
            "slow libraries that it loads", f"of {', '.join(SLOW)}", ", ".join(loaded) or "none", "–", "none", not loaded,
        ),
    ]  # fmt: skip


def _seconds(*command: str) -> float:
    return timed(lambda: subprocess.run(command, check=True, stdout=subprocess.DEVNULL))
