"""The smallest change on a line of values that makes an outline fit."""

from __future__ import annotations

from geometry.advice.lines import Line
from geometry.advice.model import Beside
from geometry.advice.trials import Trials, Tried

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
        """Look for it by climbs alone; the edge must move at all."""
        if self._reach == 0 or self._trials.same_edge(self.line.at(self._reach)):
            self._reach = 0
            return
        number = GROWTH
        while not self._trials.out_of_time():
            number = min(number, self._reach)
            if self._fits(number):
                self.found = number
                self._narrow()
                return
            if number == self._reach:
                return
            number *= GROWTH

    def look_farther(self) -> None:
        """Search the whole steel for the outlines that climbs brought nearest, and at the end."""
        if self.found or not self._reach:
            return
        for number in dict.fromkeys((self._reach, self.roomiest)):
            if number and self._decided(number).answer == "fits":
                self.found = number
                self._narrow()
                return

    def settle(self) -> Beside:
        """Prove that the number before the one found does not fit, or find a nearer one."""
        while self.found > 1:
            tried = self._decided(self.found - 1)
            if tried.outline is None:
                return "cannot be drawn"
            if tried.answer != "fits":
                return tried.answer or "not looked at"
            self.found -= 1
            self._halve()
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
        return self._noted(number, self._trials.climbed(self.line.at(number))).answer == "fits"

    def _decided(self, number: int) -> Tried:
        return self._noted(number, self._trials.decided(self.line.at(number)))

    def _noted(self, number: int, tried: Tried) -> Tried:
        if tried.best is not None:
            self._rooms_mm[number] = tried.best.value_mm
        return tried

    def _narrow(self) -> None:
        """Come nearer by climbs, as far as they fit."""
        low = max(number for number in self._rooms_mm if number < self.found)
        halve = False
        while self.found - low > 1 and not self._trials.out_of_time():
            width = self.found - low
            number = low + width // 2 if halve else self._forecast(low)
            low = low if self._fits(number) else number
            self.found = number if low != number else self.found
            halve = not halve and self.found - low > width // 2

    def _forecast(self, low: int) -> int:
        """Return where the margin is met if room grows evenly from a number to the one found."""
        least, most = self._rooms_mm.get(low, self._rooms_mm[0]), self._rooms_mm[self.found]
        part = (self._trials.margin_mm - least) / max(most - least, 1e-9)
        number = low + round(part * (self.found - low))
        return min(max(number, low + 1), self.found - 1)

    def _halve(self) -> None:
        """Come nearer by decisions: what climbs missed once they may miss again."""
        low = 0
        while self.found - low > 1 and not self._trials.over():
            number = (low + self.found) // 2
            if self._decided(number).answer == "fits":
                self.found = number
            else:
                low = number
