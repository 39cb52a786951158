"""What became of a part, as it is drawn: a bar for each place where it was fitted, with how each end is backed.

All bars of a page run over the same time, so that they can be compared; the life of the part has the same in words.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache, cached_property

from buildlog.compute.costs.lines import BoughtLine
from buildlog.compute.parts.part_history import PartFigures
from buildlog.compute.parts.spans import Span, fold_position
from buildlog.frozen import frozen
from buildlog.render.axes import LEFT, RIGHT, Days
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.coverage import evidence_of
from buildlog.render.pieces import Evidence
from buildlog.render.strips import Stretch, draw_place
from buildlog.text import to_say

MOST_TOLD = 2
"How many of what was in one place are told beside its bar, the latest."


@frozen
class PlaceEnd:
    """One end of a bar, in words."""

    says: str
    "`fitted 2 March 2024`, `replaced 3 May 2025`, `in the post since 5 May 2025`"
    evidence: Evidence | None = None
    "how it is backed"


@frozen
class PlaceLife:
    """What was in one place, one after the other."""

    at: str = ""
    "the place on the machine, in the owner's words; empty: not said"
    strip: str
    "SVG, already safe"
    ends: tuple[PlaceEnd, ...]
    "oldest first; of many the latest"


ENDED = {"removed": to_say("removed %(day)s"), "replaced": to_say("replaced %(day)s")}
"How it came off, and when."


class PartLives:
    """Draws the lives of parts over the time of the whole log."""

    def __init__(self, context: PageContext) -> None:
        figures = context.figures
        self._context = context
        self._as_of = figures.as_of
        self._bought = {line.landed.line.place: line for line in figures.costs.landed_lines}
        self._spans: dict[str, list[Span]] = {}
        for span in figures.parts.spans:
            if span.move.date <= self._as_of:
                self._spans.setdefault(span.move.key, []).append(span)
        acquired = figures.log.settings.acquired
        firsts = [part.life[0].date for part in figures.parts.parts if part.life]
        first = min([*firsts, *([acquired.date] if acquired else [])], default=self._as_of)
        # To the last that the log tells and not to today, or every page of parts would be another one each day.
        told = [event.date for part in figures.parts.parts for event in part.life]
        told += [entry.date for entry in figures.log.entries]
        last = max([first, *(day for day in told if day <= self._as_of)])
        self.days = Days(first=first, last=last, left=LEFT, right=RIGHT)
        self._across = cache(self.days.across)

    def list_places(self, part: PartFigures) -> Iterator[PlaceLife]:
        """A bar for each place of a part, then what of it was never fitted."""
        places: dict[str | None, list[Span]] = {}
        for span in self._spans.get(part.key, ()):
            places.setdefault(fold_position(span.move.at), []).append(span)
        for spans in places.values():
            yield self._draw_place(sorted(spans, key=lambda span: span.move.date))
        if not places:
            yield from self._draw_original(part)
        yield from self._draw_waiting(part)

    def _draw_original(self, part: PartFigures) -> Iterator[PlaceLife]:
        """What the machine came with, up to the day on which it came off."""
        for event in part.life:
            if part.original and event.kind == "removed":
                end = self._across(event.date)
                backed = evidence_of(self._context, event.place)
                words = self._context.words
                says = words.say("came with the machine, removed %(day)s", day=words.day(event.date))
                yield PlaceLife(
                    at=self._context.owner_text(event.at),
                    strip=draw_place([("on", LEFT, end)], [end]),
                    ends=(PlaceEnd(says=says, evidence=backed),),
                )

    def _draw_place(self, spans: Sequence[Span]) -> PlaceLife:
        stretches = [stretch for span in spans for stretch in self._list_stretches(span)]
        # What was on the machine is drawn over what waited meanwhile to take its place.
        stretches.sort(key=lambda stretch: stretch[0] == "on")
        ends = [self._across(span.ending.date) for span in spans if self._is_over(span) and span.ending]
        told = [end for span in spans[-MOST_TOLD:] for end in self._tell(span)]
        at = next((span.move.at for span in reversed(spans) if span.move.at), None)
        return PlaceLife(at=self._context.owner_text(at), strip=draw_place(stretches, ends), ends=tuple(told))

    def _is_over(self, span: Span) -> bool:
        return span.ending is not None and span.ending.date <= self._as_of

    def _list_stretches(self, span: Span) -> Iterator[Stretch]:
        across = self._across
        fitted = across(span.move.date)
        unit = next((unit for unit in span.units if unit.line is not None and unit.new), None)
        bought = self._bought.get(unit.line) if unit and unit.line else None
        if bought and bought.ordered <= span.move.date:
            came = min(bought.arrived or span.move.date, span.move.date)
            yield "post", across(max(bought.ordered, self.days.first)), across(came)
            yield "shelf", across(came), fitted
        until = span.ending.date if span.ending and self._is_over(span) else self.days.last
        yield "on", fitted, across(until)

    def _tell(self, span: Span) -> Iterator[PlaceEnd]:
        context, words = self._context, self._context.words
        fitted = words.say("fitted %(day)s", day=words.day(span.move.date))
        yield PlaceEnd(says=fitted, evidence=evidence_of(context, span.move.place))
        if span.ending and self._is_over(span):
            backed = evidence_of(context, span.ending.place)
            yield PlaceEnd(says=words.say(ENDED[span.ending.how], day=words.day(span.ending.date)), evidence=backed)

    def _draw_waiting(self, part: PartFigures) -> Iterator[PlaceLife]:
        """What lies on the shelf, and what is in the post."""
        lying = {unit.line for unit in self._context.figures.parts.shelves.get(part.key, ()) if unit.line}
        shelf = [self._bought[line] for line in lying if line in self._bought]
        if part.shelf > 0 and shelf:
            yield self._draw_lines(shelf, to_say("on the shelf since %(day)s"))
        post = [line for line in self._lines_of(part) if line.arrived is None]
        if part.in_the_post > 0 and post:
            yield self._draw_lines(post, to_say("in the post since %(day)s"))

    def _lines_of(self, part: PartFigures) -> Iterable[BoughtLine]:
        return self._by_part.get(part.key, ())

    @cached_property
    def _by_part(self) -> Mapping[str, Sequence[BoughtLine]]:
        found: dict[str, list[BoughtLine]] = {}
        for line in self._bought.values():
            if line.part:
                found.setdefault(line.part, []).append(line)
        return found

    def _draw_lines(self, lines: Sequence[BoughtLine], says: str) -> PlaceLife:
        across = self._across
        stretches: list[Stretch] = []
        for line in lines:
            came = line.arrived or self.days.last
            stretches.append(("post", across(max(line.ordered, self.days.first)), across(came)))
            if line.arrived:
                stretches.append(("shelf", across(line.arrived), across(self.days.last)))
        first = min(line.arrived or line.ordered for line in lines)
        words = self._context.words
        end = PlaceEnd(says=words.say(says, day=words.day(first)))
        return PlaceLife(strip=draw_place(stretches, ()), ends=(end,))


def say_scale(context: PageContext, lives: PartLives) -> str:
    """What the bars of a page run over, and what each kind of them means."""
    say, day = context.words.say, context.words.day
    return say(
        "Each bar runs from %(first)s to %(last)s. A line: in the post. An outline: on the shelf. Solid: on the "
        "machine, ending in a stroke where it was replaced or taken off.",
        first=day(lives.days.first),
        last=day(lives.days.last),
    )
