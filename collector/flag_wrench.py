"""What is to be said of a wrench beside its pulls: its zero before the first one, its unit, a unit that does not fit."""

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from decimal import Decimal

from schemas.bodies import ReadingKept
from schemas.errors import Fate, FrameError
from schemas.frame import Reading
from schemas.route import Band, Route
from schemas.units import UNITS, torque_text
from schemas.words import StageWord

UNIT_CHANGED = "unit changed from"
UNIT_FITS = "numbers would fit"

_FAR = 0.1  # so far beyond every band a usual short or high pull does not lie; a guess, no source
_ZERO_SHARE = Decimal("0.1")
_ZERO_PERCENT = Decimal("0.01")
_IN_A_ROW = 3


class WrenchFlags:
    """Follows the wrenches of one run over a job; wrenches without a name count as one a source, named by the caller.

    Args:
        earlier: the job's readings before this run, in their order.
    """

    def __init__(self, earlier: Iterable[ReadingKept] = ()) -> None:
        self._units = {reading.wrench: reading.unit for reading in earlier if reading.wrench and reading.unit}
        self._pulled: set[str] = set()
        self._fitting: dict[str, tuple[int, set[str]]] = {}
        self._bands: _Bands | None = None

    def flag_zero(self, reading: Reading, wrench: str, route: Route) -> FrameError | None:
        """Why a value is the wrench's zero and no pull; None where it is one.

        That is a value within a tenth of the lower edge of the plan's smallest band that comes before the wrench's first
        pull of this run; after it the same value is a pull that was given up.
        """
        if wrench in self._pulled:
            return None
        bands = self._bands_of(route)
        if reading.torque_nm is None or abs(reading.torque_nm) >= bands.smallest_nm * _ZERO_SHARE:
            self._pulled.add(wrench)
            return None
        what = f"zero offset {reading.torque} {reading.unit}, sent before the first pull"
        if abs(reading.torque_nm) > bands.target_nm * _ZERO_PERCENT:
            smallest = f"more than 1 % of the smallest torque of the plan ({torque_text(bands.target_nm)} N·m)"
            what += f": {smallest}, so set the wrench to zero; nothing is corrected"
        return FrameError(what, Fate.SET_ASIDE)

    def flag_unit_change(self, reading: Reading, wrench: str) -> Iterator[str]:
        """A note where a value comes in another unit than the wrench's value before it; it counts in its own."""
        if reading.unit is None or reading.torque is None:
            return
        before, self._units[wrench] = self._units.get(wrench), reading.unit
        if before not in (None, reading.unit):
            yield f"{UNIT_CHANGED} {before} to {reading.unit}"

    def flag_unit_fit(self, reading: Reading, wrench: str, route: Route) -> Iterator[str]:
        """A note at the third pull in a row that another unit would fit; nothing is ever taken for another than was sent.

        It would fit where each lies far from every band of the plan in its own unit, and in a final band in the other. A
        loosening tells nothing.
        """
        if reading.torque is None or reading.torque_nm is None or reading.torque_nm <= 0:
            return
        fitting = self._bands_of(route).fitting(reading.torque, float(reading.torque_nm))
        count, common = self._fitting.get(wrench, (0, fitting))
        count, common = (count + 1, common & fitting) if common & fitting else (int(bool(fitting)), fitting)
        self._fitting[wrench] = count, common
        if count == _IN_A_ROW:
            yield f"{UNIT_FITS} {' or '.join(sorted(common))}: look at the wrench's unit; nothing was changed"

    def _bands_of(self, route: Route) -> "_Bands":
        if self._bands is None or self._bands.route is not route:
            self._bands = _Bands(route)
        return self._bands


class _Bands:
    """The bands of a plan, in N·m: what is near one of them, and what lies in a final one.

    A hint is no verdict, so binary floats do, which spare the rows of a long log.
    """

    def __init__(self, route: Route) -> None:
        self.route = route
        joints = [joint for joint in route.joints if joint.stages]
        stages = [stage.band for joint in joints for stage in joint.stages if stage.word is not StageWord.ANGLE]
        self.smallest_nm = min((band.low_nm for band in stages), default=Decimal(0))
        self.target_nm = min((band.target_nm for band in stages), default=Decimal(0))
        self._lows, self._highs = _merged(stages, _FAR)
        self._final_lows, self._final_highs = _merged([joint.final.band for joint in joints], 0.0)

    def fitting(self, torque: str, torque_nm: float) -> set[str]:
        """The units in which these digits lie in a final band, where in their own they are far from every band."""
        if not self._lows or _holds(self._lows, self._highs, torque_nm):
            return set()
        value = float(torque)
        in_nm = ((unit.symbol, value * float(unit.nm_per_unit)) for unit in UNITS)
        return {symbol for symbol, nm in in_nm if _holds(self._final_lows, self._final_highs, nm)}


def _merged(bands: Iterable[Band], wider: float) -> tuple[list[float], list[float]]:
    """Lower and upper edges of the bands, each wider by that share, with those that overlap as one; rising."""
    lows: list[float] = []
    highs: list[float] = []
    for low, high in sorted((float(band.low_nm) * (1 - wider), float(band.high_nm) * (1 + wider)) for band in bands):
        if highs and low <= highs[-1]:
            highs[-1] = max(highs[-1], high)
        else:
            lows.append(low)
            highs.append(high)
    return lows, highs


def _holds(lows: list[float], highs: list[float], value: float) -> bool:
    place = bisect_right(lows, value) - 1
    return place >= 0 and value <= highs[place]
