"""The opening of the front page: the wide picture of the machine, and its state in one sentence."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import islice

from buildlog.compute.condition import ConditionFigures
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.frame import find_cover
from buildlog.render.pages.photos import PublishedPhoto
from buildlog.render.pieces import Link
from buildlog.text import count

MOST_TRIED = 8
"Photos that are looked at for one that is wide enough, as each has to be made before its size is known."


def find_plate(context: PageContext) -> PublishedPhoto | None:
    """The picture that the front page opens with; None where no photo is published.

    The owner's cover. Without one, the first photo of the latest milestone, where the whole machine is most likely to
    be seen, else of the latest entry that has one: the first of them that fills the page.
    """
    cover = find_cover(context)
    if cover:
        return cover
    tried = list(islice(_list_first_photos(context), MOST_TRIED))
    # An upright or small one is better than none.
    return next((photo for photo in tried if not photo.at_top().shape), tried[0] if tried else None)


def _list_first_photos(context: PageContext) -> Iterator[PublishedPhoto]:
    entries = [entry for entry in reversed([*context.entries.values()]) if entry.photos]
    for entry in (*filter(lambda one: one.milestone, entries), *filter(lambda one: not one.milestone, entries)):
        yield from islice(context.photos.get(entry.name, {}).values(), 1)


def say_condition(context: PageContext) -> tuple[Link, ...]:
    """The state of the machine as pieces of one sentence, some with a link; empty: the log speaks of none of it.

    `Laid up since 1 November 2024, with 2 open faults, 3 things overdue and 1 thing in the post; on “Before the road”
    1 of 4 is not ticked.`
    """
    condition = context.figures.condition
    head, counts, last = _say_use(context, condition), tuple(_list_counts(condition)), _say_list(context, condition)
    told = [*([Link(text=head)] if head else []), *_join(counts, ", with " if head else "")]
    if last and told:
        told += [Link(text="; "), *last]
    elif last:
        told += last
    return (*_begin(told), Link(text=".")) if told else ()


def _begin(told: list[Link]) -> list[Link]:
    """With a capital letter, where the first piece is words of ours."""
    first = told[0]
    return [Link(text=first.text[:1].upper() + first.text[1:], href=first.href), *told[1:]]


def _say_use(context: PageContext, condition: ConditionFigures) -> str:
    if condition.laid_up is None or condition.since is None:
        return ""
    return f"{'laid up' if condition.laid_up else 'back in use'} since {context.words.day(condition.since)}"


def _list_counts(condition: ConditionFigures) -> Iterator[Link]:
    """What is open. Of what the log does not speak nothing is said; where it does, also that there is none."""
    if condition.open_faults is not None:
        faults = count(condition.open_faults, "open fault")
        yield Link(text=faults if condition.open_faults else "no open fault", href="index.html#faults")
    if condition.overdue:
        yield Link(text=f"{count(condition.overdue, 'thing')} overdue", href="index.html#due")
    # With an unknown history nobody can say that nothing is overdue.
    elif condition.overdue is not None and not condition.unknown:
        yield Link(text="nothing overdue")
    if condition.unknown:
        yield Link(text=f"{count(condition.unknown, 'service item')} with no known history", href="index.html#due")
    if condition.in_the_post:
        yield Link(text=f"{count(condition.in_the_post, 'thing')} in the post", href="index.html#post")


def _join(pieces: tuple[Link, ...], before: str) -> Iterator[Link]:
    """`a, b and c`, each with its own link."""
    for at, piece in enumerate(pieces):
        glue = before if not at else " and " if at == len(pieces) - 1 else ", "
        if glue:
            yield Link(text=glue)
        yield piece


def _say_list(context: PageContext, condition: ConditionFigures) -> list[Link]:
    checklist = condition.checklist
    if checklist is None:
        return []
    name = Link(text=f"“{context.owner_text(checklist.name)}”", href=f"to-do.html#list-{checklist.key}")
    number = len(checklist.items)
    if condition.all_ticked is None:
        verb = "is" if checklist.missing == 1 else "are"
        state = [Link(text="on "), name, Link(text=f" {checklist.missing} of {number} {verb} not ticked")]
    else:
        state = [name, Link(text=f" all ticked by {context.words.day(condition.all_ticked)}")]
    worked = f"{condition.worked_on} worked on since" if condition.worked_on else ""
    return [*state, *([Link(text=f", {worked}")] if worked else [])]
