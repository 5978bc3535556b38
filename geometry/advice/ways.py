"""Ways to make an outline fit: one measure changed, or two."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations

from geometry.advice.line_search import LineSearch
from geometry.advice.lines import line_between, line_of
from geometry.advice.model import Measure, Short, Way
from geometry.advice.trials import Trials
from geometry.report import Progress, Report

PAIRED = 4  # measures that are paired with one another: those that matter most
LEADS = 2  # where none is enough alone: so many are paired with every other
WORTH_MM = 0.02  # of room: a measure that gives less does not matter


def found_ways(
    free: Sequence[Measure], trials: Trials, report: Report
) -> tuple[list[Way], list[Short]]:
    """Return ways that fit, the smallest change first, and what is not enough alone."""
    singles = _singles(free, trials, report)
    ways = _proven(singles, trials, report.within(0.5, 0.7))
    ways += _proven(_pairs(singles, trials), trials, report.within(0.7, 0.9))
    if not ways:
        ways = _proven(_with_others(singles, free, trials), trials, report.within(0.9, 1.0))
    ways.sort(key=lambda way: (way.share, -way.clearance.value_mm))
    left = [each for each in singles if not each.found and each.gain_mm > WORTH_MM]
    left.sort(key=lambda each: -each.gain_mm)
    return ways, [_short(each) for each in left]


def _singles(free: Sequence[Measure], trials: Trials, report: Report) -> list[LineSearch]:
    """Return for each measure the search on the side where less is enough, or more is gained."""
    found = []
    tell = report.within(0.1, 0.5)
    for number, measure in enumerate(free):
        tell(number / len(free))
        sides = [LineSearch(line_of(measure, up=up), trials) for up in (False, True)]
        for side in sides:
            side.guess()
        found.append(min(sides, key=_needs))
        found[-1].look_farther()
    return found


def _needs(search: LineSearch) -> tuple[float, float]:
    """Return what ranks searches: the change found, or else the room gained."""
    if search.found:
        return search.line.share(search.line.at(search.found)), 0.0
    return float("inf"), -search.gain_mm


def _pairs(singles: Sequence[LineSearch], trials: Trials) -> Iterator[LineSearch]:
    """Yield searches with two measures of those that matter most.

    A pair is worth telling that changes less than one of its measures must alone, or where
    neither is enough alone.
    """
    matter = [each for each in sorted(singles, key=_needs) if _matters(each)][:PAIRED]
    for one, other in combinations(matter, 2):
        search = LineSearch(line_between(*_end(one), *_end(other)), trials)
        search.guess()
        search.look_farther()
        alone = [_needs(each)[0] for each in (one, other) if each.found]
        if not alone or _needs(search)[0] < max(alone):
            yield search


def _with_others(
    singles: Sequence[LineSearch], free: Sequence[Measure], trials: Trials
) -> Iterator[LineSearch]:
    """Yield searches with a measure that gave most and one that gives nothing before that has."""
    leads = [each for each in sorted(singles, key=_needs) if _matters(each)][:LEADS]
    for lead in leads:
        for other in free:
            for end in (other.low, other.high):
                if trials.out_of_time():
                    return
                line = line_between(*_end(lead), other, end)
                if other is lead.line.measures[0] or end == other.value:
                    continue
                if trials.climbed(line.at(line.count)).answer == "fits":
                    search = LineSearch(line, trials)
                    search.guess()
                    yield search


def _matters(search: LineSearch) -> bool:
    return bool(search.found) or search.gain_mm > WORTH_MM


def _end(search: LineSearch) -> tuple[Measure, float]:
    """Return a measure and what it needs alone, or where it gave most."""
    [(_, value)] = search.line.at(search.found or search.roomiest)
    return search.line.measures[0], value


def _proven(searches: Iterable[LineSearch], trials: Trials, tell: Progress) -> list[Way]:
    """Return the ways of searches that found one, each settled."""
    ways = []
    for number, search in enumerate(searches):
        tell(1.0 - 1.0 / (1.0 + number))  # how many there are is not known
        if search.found and (way := _way(search, trials)) is not None:
            ways.append(way)
    return ways


def _way(search: LineSearch, trials: Trials) -> Way | None:
    """Return what a search found, and what is proven of the number before it."""
    answer = search.settle()
    values = search.line.at(search.found)
    changed = [key for key, value in values if value != trials.present[key]]
    if len(changed) < len(values):  # of two measures one stays: told as a single one
        return None
    pose, clearance = trials.placed(values)
    before = search.line.at(search.found - 1) if search.found > 1 else trials.as_is(values)
    return Way(
        values=values,
        share=search.line.share(values),
        pose=pose,
        clearance=clearance,
        beside=before,
        beside_answer=answer,
    )


def _short(search: LineSearch) -> Short:
    measure, value = _end(search)
    return Short(key=measure.key, value=value, clearance_mm=search.most_mm)
