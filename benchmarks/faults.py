"""The fault campaign: every kind of source, every shipped wire format, streams spoiled by seed; no byte may be lost."""

import argparse
import random
import sys
from collections.abc import Callable, Iterable
from contextlib import ExitStack
from pathlib import Path
from tempfile import TemporaryDirectory

from benchmarks.fault_account import Account, Ledger, account_link, account_log, typed_lines
from benchmarks.fault_runs import LOG_HEADER, FaultShop, records_of, rows_of
from benchmarks.table import Row, as_markdown, machine
from collector.cli.wire_named import read_wire, shipped_wires
from sim.bluez.bus import BUS_VARIABLE, PrivateBus
from sim.bluez.peripheral import Peripheral
from sim.bluez.radio import Radio
from sim.faults.links import Air, BadLink, Cable
from sim.faults.stream import Stream, needs_line_end, spoil_records

_RECORDS = 40
Found = dict[str, Account]
"""By what was spoiled: the name of the wire format, or `log`."""


def over_cables(seed: int, folder: Path) -> Found:
    """All shipped formats, each over a pseudo-terminal of its own, in one run."""
    with ExitStack() as stack:
        links: list[BadLink] = []
        for wire in shipped_wires():
            cable = Cable(folder / wire)
            stack.callback(cable.unplug)
            links.append(cable)
        return _over_links(seed, FaultShop(folder), links)


def over_the_air(seed: int, folder: Path) -> Found:
    """All shipped formats, each of a Bluetooth wrench of its own, in one run on a private bus."""
    wrenches = [Peripheral(f"C0:FF:EE:00:53:{number:02}", wire) for number, wire in enumerate(shipped_wires(), 1)]
    with PrivateBus(folder) as bus, Radio(bus.address, *wrenches) as radio:
        links: list[BadLink] = [Air(radio, wrench) for wrench in wrenches]
        return _over_links(seed, FaultShop(folder, {BUS_VARIABLE: bus.address}), links)


def _over_links(seed: int, shop: FaultShop, links: list[BadLink]) -> Found:
    streams = [_stream(seed, wire) for wire in shipped_wires()]
    shop.play(dict(zip(links, shipped_wires(), strict=True)), streams)
    ledger, found = Ledger(shop.database), Found()
    for link, wire, stream in zip(links, shipped_wires(), streams, strict=True):
        found[wire] = account_link(stream, stream.sessions, ledger.sessions(link.source), read_wire(wire).framing)
    return _with_findings(found, ledger)


def by_typing(seed: int, folder: Path) -> Found:
    """The shipped formats of lines, typed."""
    found = Found()
    for wire in (wire for wire in shipped_wires() if read_wire(wire).framing.by == "line"):
        place = folder / wire
        place.mkdir()
        shop, stream = FaultShop(place), _stream(seed, wire, unplugs=False)
        shop.type(wire, stream)
        ledger = Ledger(shop.database)
        kept = [typed_lines(sent) for sent in stream.sessions]
        found[wire] = account_link(stream, kept, ledger.sessions("keys:"), read_wire(wire).framing)
        found[wire].troubles += ledger.findings
    return found


def by_download(seed: int, folder: Path) -> Found:
    """A log whose download breaks off and begins again; the last one is clean, and whole."""
    rng = random.Random(f"{seed}/log")
    rows = rows_of("W-140", _RECORDS, rng)
    stream = spoil_records(rows, by_line=True, rng=rng)
    files = {f"log-{number}.csv": data for number, data in enumerate([*stream.sessions, b"".join(rows)])}
    shop = FaultShop(folder)
    told = {name: shop.import_log(name, LOG_HEADER + data) for name, data in files.items()}
    ledger = Ledger(shop.database)
    return _with_findings({"log": account_log(stream, files, ledger, told)}, ledger)


SOURCES: dict[str, Callable[[int, Path], Found]] = {
    "serial": over_cables,
    "ble": over_the_air,
    "keys": by_typing,
    "log": by_download,
}


def _stream(seed: int, wire: str, unplugs: bool = True) -> Stream:
    rng = random.Random(f"{seed}/{wire}")
    made = read_wire(wire)
    return spoil_records(records_of(made, wire[:8], _RECORDS, rng), needs_line_end(made), rng, unplugs=unplugs)


def _with_findings(found: Found, ledger: Ledger) -> Found:
    next(iter(found.values())).troubles += ledger.findings
    return found


def play(source: str, seed: int) -> Found:
    """Play one seed of one kind of source, in a folder of its own."""
    with TemporaryDirectory() as folder:
        return SOURCES[source](seed, Path(folder))


def rows(quick: bool) -> list[Row]:
    """A row for each kind of source and wire format."""
    return campaign(range(1, 2 if quick else 11), SOURCES)


def campaign(seeds: range, sources: Iterable[str]) -> list[Row]:
    """A row for each kind of source and wire format, over these seeds; what went wrong is told on standard error."""
    table: list[Row] = []
    for source in sources:
        if sys.platform == "win32" and source in ("serial", "ble"):
            table.append(Row(f"faults: {source}", "–", "not measured: this system has no such links", "–", "lost: 0", None))
            continue
        totals: dict[str, Account] = {}
        for seed in seeds:
            for what, account in play(source, seed).items():
                for trouble in account.troubles:
                    print(f"{source}, {what}, seed {seed}: {trouble}", file=sys.stderr, flush=True)
                totals.setdefault(what, Account()).add(account)
        table += [_row(f"{source}, {what}, {len(seeds)} seeds", total) for what, total in totals.items()]
    return table


def _row(what: str, total: Account) -> Row:
    fates = f"{total.readings} read ({total.altered} altered unseen), {total.set_aside} set aside, {total.unreadable} unreadable"
    before = f", {total.stored_before} stored before" if total.stored_before else ""
    return Row(
        f"faults: {what}",
        f"{total.sent} bytes sent",
        f"{total.framed} in stored frames, {total.line_ends} line ends, lost: {total.lost}",
        fates + before,
        "lost: 0",
        total.lost == 0 and not total.troubles,
    )


def main() -> int:
    """Play as many seeds as asked for; gives 1 where a byte was lost."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.faults", description="Plays the fault campaign for longer.")
    parser.add_argument("--first", type=int, default=1, help="the first seed")
    parser.add_argument("--seeds", type=int, default=100, help="how many seeds of each kind of source")
    parser.add_argument("--only", choices=tuple(SOURCES), action="append", help="a kind of source; may be given again")
    chosen = parser.parse_args()
    table = campaign(range(chosen.first, chosen.first + chosen.seeds), chosen.only or SOURCES)
    print(as_markdown(table))
    print(machine())
    return int(any(row.reached is False for row in table))


if __name__ == "__main__":
    sys.exit(main())
