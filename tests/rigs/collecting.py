"""The installed program at work: a shop with a job open, wrenches on cables, and a keyboard that answers it.

Cable and keyboard are pseudo-terminals, so what is tested is what a person starts.
"""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from threading import Timer
from typing import IO, Any

import pytest

from collector.cli.main import main
from sim.faults.links import Cable

PATIENCE_S = 60
Shop = tuple[str, tuple[str, str]]


class Bench:
    """The program with a keyboard of its own; what it says is read line by line and kept in `said`."""

    def __init__(self, *arguments: str) -> None:
        self._keys, keyboard = os.openpty()
        self.program = subprocess.Popen(
            [sys.executable, "-m", "collector.cli.main", *arguments],
            stdin=keyboard, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        )  # fmt: skip
        os.close(keyboard)
        self.said: list[str] = []

    def wait_for(self, text: str) -> str:
        """The first line from here on that holds this text."""
        # What never comes must not be waited for without end.
        patience = Timer(PATIENCE_S, self.program.kill)
        patience.start()
        try:
            for line in _pipe(self.program.stderr):
                self.said.append(line)
                if text in line:
                    return line
        finally:
            patience.cancel()
        raise AssertionError(f"never said: {text!r}; it said: {''.join(self.said)}")

    def press(self, keys: str) -> None:
        """Put keys into the keyboard; where the program takes lines, they end as a terminal's do."""
        os.write(self._keys, keys.encode())

    def end(self, keys: str = "q") -> tuple[int, dict[str, Any]]:
        """Press the keys that end it; gives its exit code and its answer as JSON."""
        self.press(keys)
        out, _ = self.program.communicate(timeout=PATIENCE_S)
        return self.program.returncode, json.loads(out)

    def kill(self) -> None:
        """End it as a cut of power would; also one that has ended."""
        self.program.kill()
        self.program.wait(PATIENCE_S)

    def clear(self) -> None:
        """Leave nothing open and nothing running."""
        self.kill()
        _pipe(self.program.stdout).close()
        _pipe(self.program.stderr).close()
        os.close(self._keys)


def _pipe(pipe: IO[str] | None) -> IO[str]:
    assert pipe is not None
    return pipe


@pytest.fixture
def open_shop(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Callable[..., Shop]:
    """Registers wrenches that are in date and opens a job; gives the plan's path, and `--db` with `audit.db` of `tmp_path`."""

    def open_shop(text: str, *wrenches: str) -> Shop:
        plan, database = tmp_path / "plan.yaml", ("--db", str(tmp_path / "audit.db"))
        plan.write_text(text, encoding="utf-8")
        for wrench in wrenches:
            add = ["wrench", "add", wrench, "--serial", wrench[2:], "--type", "indicating", "--low", "5", "--high", "200"]
            assert main([*add, "--unit", "Nm", "--measures", "highest", *database]) == 0
            due = ["--certificate", "C-1", "--on", "2020-01-01", "--due", "2099-01-01"]
            assert main(["wrench", "calibrate", wrench, *due, *database]) == 0
        assert main(["job", "open", str(plan), "--item", "AB 12", "--fitter", "Jo Fitter", *database]) == 0
        capsys.readouterr()
        return str(plan), database

    return open_shop


@pytest.fixture
def new_cable(tmp_path: Path) -> Iterator[Callable[[str], Cable]]:
    """Makes a cable behind a path of that name in `tmp_path`, plugged in until the test unplugs it or ends."""
    with ExitStack() as stack:

        def new_cable(name: str) -> Cable:
            cable = Cable(tmp_path / name)
            stack.callback(cable.unplug)
            return cable

        yield new_cable


@pytest.fixture
def collect() -> Iterator[Callable[..., Bench]]:
    """Starts `collect --json` on the plan and the file of a shop, with what else it is told."""
    with ExitStack() as stack:

        def collect(shop: Shop, *options: str) -> Bench:
            plan, database = shop
            bench = Bench("collect", plan, *options, "--json", *database)
            stack.callback(bench.clear)
            return bench

        yield collect
