"""The state of the machine in one sentence, as the front page, the book and whoever shares the site have it."""

from __future__ import annotations

from collections.abc import Iterator

from buildlog.compute.condition import ConditionFigures
from buildlog.render.pages.context import PageContext
from buildlog.render.pieces import Link, fill, hold


def say_condition(context: PageContext) -> tuple[Link, ...]:
    """The state of the machine as pieces of one sentence, some with a link; empty: the log speaks of none of it.

    `Laid up since 1 November 2024, with 2 open faults, 3 things overdue and 1 thing in the post; on “Before the road”
    1 of 4 is not ticked.`
    """
    condition, words = context.figures.condition, context.words
    counts = tuple(_list_counts(context, condition))
    counted = words.join([hold(str(at)) for at in range(len(counts))])
    told, checklist = _say_use(context, condition), _say_list(context, condition)
    told = words.say("%(use)s, with %(counted)s", use=told, counted=counted) if told and counted else told or counted
    # TRANSLATORS: the state of the machine, and of a list of what has to be right before the road
    told = words.say("%(state)s; %(list)s", state=told, list=checklist) if told and checklist else told or checklist
    links = {str(at): (link,) for at, link in enumerate(counts)} | {"list": tuple(_link_list(context, condition))}
    return tuple(_begin([*fill(words.say("%(state)s.", state=told), **links)])) if told else ()


def _begin(told: list[Link]) -> list[Link]:
    """With a capital letter, where the first piece is words of ours."""
    first = told[0]
    return [Link(text=first.text[:1].upper() + first.text[1:], href=first.href), *told[1:]]


def _say_use(context: PageContext, condition: ConditionFigures) -> str:
    if condition.laid_up is None or condition.since is None:
        return ""
    day = context.words.day(condition.since)
    if condition.laid_up:
        return context.words.say("laid up since %(day)s", day=day)
    return context.words.say("back in use since %(day)s", day=day)


def _list_counts(context: PageContext, condition: ConditionFigures) -> Iterator[Link]:
    """What is open. Of what the log does not speak nothing is said; where it does, also that there is none."""
    say, say_count = context.words.say, context.words.say_count
    if condition.open_faults is not None:
        faults = say_count("%(number)s open fault", "%(number)s open faults", condition.open_faults)
        yield Link(text=faults if condition.open_faults else say("no open fault"), href="index.html#faults")
    if condition.overdue:
        overdue = say_count("%(number)s thing overdue", "%(number)s things overdue", condition.overdue)
        yield Link(text=overdue, href="index.html#due")
    # With an unknown history nobody can say that nothing is overdue.
    elif condition.overdue is not None and not condition.unknown:
        yield Link(text=say("nothing overdue"))
    if condition.unknown:
        unknown = say_count(
            "%(number)s service item with no known history",
            "%(number)s service items with no known history",
            condition.unknown,
        )
        yield Link(text=unknown, href="index.html#due")
    if condition.in_the_post:
        post = say_count("%(number)s thing in the post", "%(number)s things in the post", condition.in_the_post)
        yield Link(text=post, href="index.html#post")


def _link_list(context: PageContext, condition: ConditionFigures) -> Iterator[Link]:
    if checklist := condition.checklist:
        # TRANSLATORS: quotation marks around what the owner calls a list
        name = context.words.say("“%(name)s”", name=context.owner_text(checklist.name))
        yield Link(text=name, href=f"to-do.html#list-{checklist.key}")


def _say_list(context: PageContext, condition: ConditionFigures) -> str:
    """How far the list is, with a place for its name."""
    checklist, words = condition.checklist, context.words
    if checklist is None:
        return ""
    if condition.all_ticked is None:
        told = words.say_count(
            "on %(list)s %(number)s of %(all)s is not ticked",
            "on %(list)s %(number)s of %(all)s are not ticked",
            checklist.missing,
            list=hold("list"),
            all=len(checklist.items),
        )
    else:
        day = words.day(condition.all_ticked)
        # TRANSLATORS: of a list that is named here
        told = words.say("%(list)s all ticked by %(day)s", list=hold("list"), day=day)
    if not condition.worked_on:
        return told
    number = condition.worked_on
    return words.say_count(
        "%(told)s, %(number)s worked on since", "%(told)s, %(number)s worked on since", number, told=told
    )
