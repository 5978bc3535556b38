"""The smallest change on a line of values that makes an outline fit."""

from __future__ import annotations

from collections.abc import Iterator

from geometry.advice.lines import Line
from geometry.advice.model import Beside
from geometry.advice.trials import Trials, Tried
from geometry.pose import Pose

GROWTH = 5  # of the steps outward, until one fits; the first one too
REFUSED_PARTS = 8  # of a line whose end cannot be drawn: so many places are asked
SAME_ROOM_MM = 1e-3  # climbs end so near to one another


class LineSearch:
    """Looks for the first number of a line that fits: outward in growing steps, then between.

    Fit need not go one way along a line: what is found fits where the number before it does not,
    and a nearer one may fit that no step came upon.

    Parameters
    ----------
    line : Line
        The values.
    trials : Trials
        The steel that they are tried on.

    Attributes
    ----------
    found : int
        A number that fits; 0 where none was found.
    """

    def __init__(self, line: Line, trials: Trials) -> None:
        self.line, self._trials = line, trials
        self.found = 0
        self._near: Pose | None = None  # where a search of the whole steel found it to fit
        present = trials.drawn(()).best
        assert present is not None
        self._rooms_mm = {0: present.value_mm}
        self._reach = self._last_drawn()

    @property
    def most_mm(self) -> float:
        """The most room met."""
        return max(self._rooms_mm.values())

    @property
    def gain_mm(self) -> float:
        """How much more room than as it is was met at most."""
        return self.most_mm - self._rooms_mm[0]

    @property
    def roomiest(self) -> int:
        """The number with most room of those tried; the farthest one of equals."""
        least_mm = self.most_mm - SAME_ROOM_MM
        return max(number for number, room_mm in self._rooms_mm.items() if room_mm >= least_mm)

    def guess(self) -> None:
        """Look for it by climbs alone."""
        if self._reach == 0 or self._trials.same_edge(self.line.at(self._reach)):
            self._reach = 0
            return
        for number in self._outward():
            if self._trials.out_of_time():
                return
            if self._fits(number):
                self._narrow(number)
                return

    def _outward(self) -> Iterator[int]:
        """Yield numbers outward; where neither the first nor the last gives room, no others."""
        numbers, number = [], GROWTH
        while number < self._reach:
            numbers.append(number)
            number *= GROWTH
        yield from numbers[:1]
        if self.gain_mm < SAME_ROOM_MM:
            yield self._reach
        if self.gain_mm >= SAME_ROOM_MM:
            yield from (*numbers[1:], self._reach)

    def look_farther(self) -> None:
        """Search the whole steel where climbs brought most room."""
        number = self.roomiest or self._reach
        if self.found or not self._reach:
            return
        tried = self._decided(number)
        if tried.best is not None and tried.answer == "fits":
            self._near = tried.best.pose
            self._narrow(number)

    def settle(self) -> Beside:
        """Prove that the number before the one found does not fit, or find a nearer one."""
        while self.found > 1:
            tried = self._decided(self.found - 1)
            if tried.outline is None:
                return "cannot be drawn"
            if tried.best is None or tried.answer != "fits":
                return tried.answer or "not looked at"
            self._near = tried.best.pose  # climbs from as it is do not lead there
            self._narrow(self.found - 1)
        return self._trials.drawn(()).answer or "not looked at"

    def _last_drawn(self) -> int:
        """Return the last number that can be drawn, where those that cannot lie together."""
        count = self.line.count
        if not count or self._is_drawn(count):
            return count
        looked_at = [count * part // REFUSED_PARTS for part in range(REFUSED_PARTS)]
        last = max(number for number in looked_at if not number or self._is_drawn(number))
        refused = min((number for number in looked_at if number > last), default=count)
        while refused - last > 1:
            middle = (last + refused) // 2
            last, refused = (middle, refused) if self._is_drawn(middle) else (last, middle)
        return last

    def _is_drawn(self, number: int) -> bool:
        return self._trials.drawn(self.line.at(number)).outline is not None

    def _fits(self, number: int) -> bool:
        return (
            self._noted(number, self._trials.climbed(self.line.at(number), self._near)).answer
            == "fits"
        )

    def _decided(self, number: int) -> Tried:
        return self._noted(number, self._trials.decided(self.line.at(number)))

    def _noted(self, number: int, tried: Tried) -> Tried:
        if tried.best is not None:
            self._rooms_mm[number] = tried.best.value_mm
        return tried

    def _narrow(self, found: int) -> None:
        """Come nearer than a number that fits by climbs, as far as they fit."""
        self.found = found
        low = max(n for n in self._rooms_mm if n < found and (not n or self._is_short(n)))
        halve = False
        while self.found - low > 1 and not self._trials.out_of_time():
            width = self.found - low
            number = low + width // 2 if halve else self._forecast(low)
            if self._fits(number):
                self.found = number
            else:
                low = number
            halve = not halve and self.found - low > width // 2

    def _is_short(self, number: int) -> bool:
        """Return whether a number is known not to fit; before any search, a climb says so."""
        return self._near is None or self._trials.drawn(self.line.at(number)).answer is not None

    def _forecast(self, low: int) -> int:
        """Return where the margin is met if room grows evenly from a number to the one found."""
        least, most = self._rooms_mm.get(low, self._rooms_mm[0]), self._rooms_mm[self.found]
        part = (self._trials.margin_mm - least) / max(most - least, 1e-9)
        number = low + round(part * (self.found - low))
        return min(max(number, low + 1), self.found - 1)
