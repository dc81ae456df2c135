"""Runs the installed `collect` on spoiled streams: several wrenches on links that are pulled out, typed lines, downloads."""

import json
import os
import random
import subprocess
import sys
import threading
from collections.abc import Mapping, Sequence
from contextlib import redirect_stderr, redirect_stdout
from decimal import Decimal
from io import StringIO
from itertools import chain, zip_longest
from pathlib import Path

from benchmarks.workshop import witnessmark
from collector.cli.main import main
from schemas.wire_format import WireFormat
from sim.clock import SimClock
from sim.faults.links import BadLink
from sim.faults.stream import Fault, Step, Stream
from sim.workshop.facts import START_AT, ZONE
from sim.wrench import SimWrench

if sys.platform != "win32":
    import pty

LOG_HEADER = b"time,wrench,torque,unit,seq\n"
_PLAN = """\
plan: made-up
title: Made-up trailer
revision: "1"
source: Shop procedure 1
unit: N·m
tolerance: 10 %
joints:
  - {id: hub, name: Hub nuts, fasteners: 100, torque: 120}
  - {id: axle, name: Axle bolts, fasteners: 100, torque: 60}
"""
_PATIENCE_S = 300.0
_PULL_S = 8


def records_of(wire: WireFormat, wrench: str, count: int, rng: random.Random) -> list[bytes]:
    """So many different pulls as a wrench sends them, one in twenty a loosening."""
    clock = SimClock(START_AT)
    sender = SimWrench(wrench, wire, clock, ZONE)
    records = []
    for _ in range(count):
        clock.advance(_PULL_S)
        records.append(sender.record(_torque(rng), "N·m"))
    return records


def rows_of(wrench: str, count: int, rng: random.Random) -> list[bytes]:
    """So many rows of a log under `LOG_HEADER`, each another pull."""
    clock = SimClock(START_AT)
    rows = []
    for number in range(1, count + 1):
        clock.advance(_PULL_S)
        at = clock.now().astimezone(ZONE).isoformat()
        rows.append(f"{at},{wrench},{_torque(rng)},Nm,{number}\n".encode())
    return rows


def _torque(rng: random.Random) -> Decimal:
    return Decimal(rng.randint(2000, 15000)) / 100 * (-1 if rng.random() < 0.05 else 1)


class FaultShop:
    """A made-up workshop in an empty folder, with one open job that `collect` goes on with.

    `environment` is what its programs have beside our own.
    """

    def __init__(self, folder: Path, environment: Mapping[str, str] | None = None) -> None:
        self._folder = folder
        self._environment = {**os.environ, **(environment or {})}
        self._plan = folder / "plan.yaml"
        self.database = folder / "audit.db"
        self._plan.write_text(_PLAN, encoding="utf-8")
        self._do("job", "open", str(self._plan), "--item", "WX 17", "--fitter", "Mira Tannwald")

    def play(self, links: Mapping[BadLink, str], streams: Sequence[Stream]) -> None:
        """Send each stream over its link, to one run that reads them all; a session begins once all of them are up.

        Args:
            links: two or more, each with the name of its wire format.
            streams: one for each of them, in the same order.
        """
        sources = chain.from_iterable(("--from", link.source, "--wire", wire) for link, wire in links.items())
        near, far = pty.openpty()
        program = self._collect(*sources, keyboard=far)
        os.close(far)
        up, down = (f"{count} of {len(links)} up" for count in (len(links), 0))
        for number, sessions in enumerate(zip_longest(*(_by_session(stream) for stream in streams), fillvalue=())):
            for link in links if number else ():
                link.plug()
            program.wait_for(f"link: {up}")
            _send(list(links), sessions)
            for link in links:
                link.unplug()
            program.wait_for(down)
        os.write(near, b"q")
        program.end()
        os.close(near)

    def type(self, wire: str, stream: Stream) -> None:
        """Type a stream of one session to a run, which ends with the end of what is typed."""
        program = self._collect("--from", "keys:", "--wire", wire)
        for step in stream.steps:
            program.type(step.data)
        program.end()

    def import_log(self, name: str, data: bytes) -> tuple[int, str]:
        """Read a log; gives how many of its rows were stored before, and what was said where it was refused."""
        log = self._folder / name
        log.write_bytes(data)
        code, out, said = self._do("collect", str(self._plan), "--from", f"log:{log}", "--json")
        return (0, said) if code == 2 else (int(json.loads(out)["already_stored"]), "")

    def _do(self, *arguments: str) -> tuple[int, str, str]:
        """What a command gives and says that needs no process of its own, for starting one takes longer than the command."""
        with redirect_stdout(StringIO()) as out, redirect_stderr(StringIO()) as said:
            code = main([*arguments, "--db", str(self.database)])
        return code, out.getvalue(), said.getvalue()

    def _collect(self, *sources: str, keyboard: int = subprocess.PIPE) -> "_Program":
        command = [*witnessmark(), "collect", str(self._plan), *sources, "--db", str(self.database)]
        return _Program(command, self._environment, keyboard)


def _by_session(stream: Stream) -> list[tuple[Step, ...]]:
    sessions: list[tuple[Step, ...]] = [()]
    for step in stream.steps:
        sessions[-1] += (step,)
        if step.then is Fault.UNPLUG:
            sessions.append(())
    return sessions[:-1]


def _send(links: Sequence[BadLink], sessions: Sequence[Sequence[Step]]) -> None:
    for steps in zip_longest(*sessions):
        for link, step in zip(links, steps, strict=True):
            if step is not None:
                link.send(step.data)
                if step.then is Fault.STALL:
                    link.settle()
    for link in links:
        link.settle()


class _Program:
    """A run of the program; what it says is read line by line. One that hangs is killed, which is then told."""

    def __init__(self, command: Sequence[str], environment: Mapping[str, str], keyboard: int) -> None:
        pipe, nowhere = subprocess.PIPE, subprocess.DEVNULL
        self._program = subprocess.Popen(command, stdin=keyboard, stdout=nowhere, stderr=pipe, env=environment)
        self._said: list[str] = []
        self._patience = threading.Timer(_PATIENCE_S, self._program.kill)
        self._patience.start()

    def wait_for(self, text: str) -> None:
        """Wait until it says something; RuntimeError where it ends before."""
        for line in self._program.stderr or ():
            self._said.append(line.decode())
            if text in self._said[-1]:
                return
        self.end()
        raise RuntimeError(f"never said {text!r}; it said: {''.join(self._said[-20:])}")

    def type(self, data: bytes) -> None:
        """Type bytes."""
        if self._program.stdin is not None:
            self._program.stdin.write(data)
            self._program.stdin.flush()

    def end(self) -> None:
        """Wait for its end; RuntimeError where that is not in order."""
        _, said = self._program.communicate()
        self._patience.cancel()
        if self._program.returncode not in (0, 1):
            raise RuntimeError(f"ended with {self._program.returncode}: {''.join(self._said[-20:])}{said.decode()}")
