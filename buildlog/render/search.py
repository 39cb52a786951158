"""The index that a reader's browser searches: script files, loaded when somebody goes to search, from a disk as well.

What it holds is what pages show: names of parts with their numbers, titles, and every word of the owner's that stands
on the page of an entry or a standing page. Amounts are not in it, and what `public:` closes is not. A word leads to
the entries that say it; words are dealt out to several files by their first letters, so that a search loads a few of
them. For a word whose first letter is wrong, there are lists by the last ones. How it is searched: `search.js` of the
theme.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cached_property
from typing import Any

from buildlog.read.records import Entry, StandingPage
from buildlog.render.addresses import PICTURES, TO_DO, TORQUES, entry_href, page_href
from buildlog.render.pages.context import PageContext
from buildlog.render.pages.frame import list_sections
from buildlog.render.pages.still_to_do import has_plans
from buildlog.render.pages.tightening import has_torques
from buildlog.render.said import Names, SaidWords, gather_names
from buildlog.render.search_files import FOLDER, deal, list_story_words, write_file, write_places
from buildlog.text import list_search_words, to_say

MOST_FILES = 64
"Files of words by their first two letters, in a log with enough entries for as many; and as many by the last two."
ENTRIES_A_FILE = 3
"Entries for which there is one file of words: a search loads a few kilobytes of words, in a log of any length."


FindKnown = Callable[[Entry | StandingPage, tuple[str, ...]], str | None]
"The words of a record, with the files of its photos that are shown, if they are known; see `SearchIndex.said`."

KINDS: Mapping[str, str] = {
    # TRANSLATORS: each says what one thing is that was found
    "Entry": to_say("Entry"),
    "Page": to_say("Page"),
    "Part": to_say("Part"),
    "Fault": to_say("Fault"),
    "Service": to_say("Service"),
    "System": to_say("System"),
    "Supplier": to_say("Supplier"),
    "List": to_say("List"),
    "Wanted": to_say("Wanted"),
}
"What is found, by the name that the script has for it."
WORDS: Mapping[str, str] = {
    "results": to_say("Search results"),
    "least": to_say("Two letters or digits at least."),
    # TRANSLATORS: things; the number may be any, and the text has one form for all
    "found": to_say("%(number)s found"),
    "slips": to_say("%(number)s found, with one letter changed"),
    "nothing": to_say("Nothing found"),
    "first": to_say("the first %(number)s are shown"),
    "letters": to_say("only the first %(number)s letters are looked for"),
    "missing": to_say("Part of the index is missing, so there may be more."),
}
"What the script says, which has no words of its own."


class SearchIndex:
    """The index of one site, made when the first of its files is asked for."""

    def __init__(self, context: PageContext, know: Callable[[Names], FindKnown] | None = None) -> None:
        self._context, self._know = context, know
        self._shows_suppliers = context.figures.log.settings.public.suppliers == "shown"
        self.count = min(MOST_FILES, max(1, len(context.entries) // ENTRIES_A_FILE))
        "of files of words by their first letters, and of as many by the last ones"

    def list_makers(self) -> dict[str, Callable[[], bytes]]:
        """Every file of it by its path in the site, with what makes it."""

        # Functions, as lambdas made in a loop would all make the last one.
        def make_words(number: int) -> Callable[[], bytes]:
            return lambda: write_file("words", number, self._files[0][number])

        def make_ends(number: int) -> Callable[[], bytes]:
            return lambda: write_file("ends", number, self._files[1][number])

        makers = {f"{FOLDER}/index.js": lambda: write_file("index", 0, self._make_index())}
        makers |= {f"{FOLDER}/words-{number}.js": make_words(number) for number in range(self.count)}
        return makers | {f"{FOLDER}/ends-{number}.js": make_ends(number) for number in range(self.count)}

    # ── what is found by its name ────────────────────────────────────────────────────────────────────────────────

    def _make_index(self) -> dict[str, Any]:
        """Everything that has a place on the site: its kind, and by that its key in the address, its name, and more.

        A key that is its name with dashes stands as 0. What stands fourth is sought and not shown.
        """
        groups = [
            ("Entry", entry_href("*"), [self._describe_entry(entry) for entry in self._context.entries.values()]),
            ("Page", page_href("*"), [[page.name, page.title] for page in self._context.figures.pages]),
            *(("Part", f"{page}#part-*", rows) for page, rows in self._list_parts().items()),
            ("Fault", "faults.html#fault-*", [[f.key, f.name] for f in self._context.figures.faults.faults]),
            ("Service", "service.html#item-*", self._list_items()),
            ("System", "systems/*.html", self._list_systems()),
            ("Supplier", "costs.html#by-supplier*", [["", name] for name in self._list_suppliers()]),
            ("List", f"{TO_DO}#list-*", self._list_lists()),
            ("Wanted", f"{TO_DO}#wanted*", self._list_wanted()),
            ("Page", "*", self._list_pages()),
        ]
        say = self._context.words.say
        return {
            "language": self._context.words_language,
            "words": {key: say(text) for key, text in WORDS.items()},
            "kinds": {kind: say(KINDS[kind]) for kind, _, rows in groups if rows},
            "files": self.count,
            "groups": [(kind, href, list(map(_shorten, rows))) for kind, href, rows in groups if rows],
        }

    def _describe_entry(self, entry: Entry) -> list[str]:
        day = entry.date.isoformat()
        return [entry.name, entry.title] if entry.name.startswith(day) else [entry.name, entry.title, day]

    def _list_parts(self) -> dict[str, list[list[str]]]:
        """The parts by the page that has their lives."""
        pages: dict[str, list[list[str]]] = {}
        for part in self._context.figures.parts.parts:
            rows = pages.setdefault(self._context.part_pages.get(part.key, "parts.html"), [])
            more = " ".join(filter(None, [part.maker, ", ".join(part.numbers)]))
            rows.append([part.key, part.name, more] if more else [part.key, part.name])
        return pages

    def _list_items(self) -> list[list[str]]:
        settings = self._context.figures.log.settings
        covers = {key: [self._name_component(one) for one in item.covers] for key, item in settings.service.items()}
        return [[key, item.name, "", " ".join(covers[key])] for key, item in settings.service.items()]

    def _name_component(self, key: str) -> str:
        component = self._context.figures.log.settings.components.get(key)
        return component.name or key if component else key

    def _list_lists(self) -> list[list[str]]:
        # What an item says is sought: there is no telling which of many the reader wants to see.
        lists = self._context.figures.log.settings.lists
        said = {key: [text for item in one.items for text in (item.what, item.caution)] for key, one in lists.items()}
        return [[key, one.name, "", " ".join(filter(None, said[key]))] for key, one in lists.items()]

    def _list_wanted(self) -> list[list[str]]:
        """What is wanted in `log.yaml`; what an entry wants is found with the entry."""
        wanted = [item for item in self._context.figures.costs.plan.list_open() if item.entry is None]
        return [["", item.what, item.supplier or "" if self._shows_suppliers else ""] for item in wanted]

    def _list_pages(self) -> list[list[str]]:
        """The pages of the navigation, and what they say that is told nowhere else."""
        settings = self._context.figures.log.settings
        machine, site, acquired = settings.machine, settings.site, settings.acquired
        before = [text for one in settings.history for text in (one.what, one.who if self._shows_suppliers else None)]
        said = {
            "index.html": [machine.name, machine.maker, machine.model, site.title, site.author],
            "service.html": [acquired.condition if acquired else None, *before],
        }
        more = {to_say("Still to do"): TO_DO, to_say("Tightening sheet"): TORQUES, to_say("Photos"): PICTURES}
        there = {
            TO_DO: has_plans(self._context),
            TORQUES: has_torques(self._context),
            PICTURES: any(self._context.figures.log.photos.get(entry) for entry in self._context.entries),
        }
        pages = [*list_sections(self._context), *((name, href) for name, href in more.items() if there[href])]
        say = self._context.words.say
        return [[href, say(name), "", " ".join(filter(None, said.get(href, ())))] for name, href in pages]

    def _list_systems(self) -> list[list[str]]:
        names = self._context.figures.log.settings.systems
        return [[key, names.get(key, key)] for key in self._context.systems if key]

    def _list_suppliers(self) -> list[str]:
        figures = self._context.figures
        if not self._shows_suppliers or self._context.prices == "hidden":
            return []
        # by name: the figures have the largest first, which would tell what closed prices do not
        return sorted(total.name for total in figures.costs.by_supplier)

    # ── what is found by any word of it ──────────────────────────────────────────────────────────────────────────

    @cached_property
    def _files(self) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """What stands in each file of words: `pump 0,3,1;pumps 4`; and in each by last letters: `pump lamp`.

        The entries and pages that say a word are counted together, and each told by its distance from the one before.
        """
        found: dict[str, list[int]] = {}
        for number, (name, said) in enumerate(self.said.items()):
            for word in list_story_words(self._context.stories[name]).union(said.split()):
                numbers = found.get(word)
                if numbers is None:
                    found[word] = [number]
                else:
                    numbers.append(number)
        words: tuple[list[str], ...] = tuple([] for _ in range(self.count))
        ends: tuple[list[str], ...] = tuple([] for _ in range(self.count))
        for word in sorted(found):
            words[deal(word[:2], self.count)].append(write_places(word, found[word]))
            ends[deal(word[-2:], self.count)].append(word)
        return tuple(map(";".join, words)), tuple(map(" ".join, ends))

    @cached_property
    def said(self) -> Mapping[str, str]:
        """The words of each entry and page that stand in no story, by its name, in the order of their numbers.

        They are sorted, with a space between: as sets those of a long log would take ten times the memory.
        """
        told: tuple[Entry | StandingPage, ...] = (*self._context.entries.values(), *self._context.figures.pages)
        names = gather_names(self._context.figures, {key: part.name for key, part in self._context.parts.items()})
        words, find_known = SaidWords(names), self._know(names) if self._know else None
        said: dict[str, str] = {}
        for each in told:
            photos = self._list_photos(each)
            known = find_known(each, photos) if find_known else None
            said[each.name] = " ".join(sorted(words.find(each, photos))) if known is None else known
        return said

    def _list_photos(self, told: Entry | StandingPage) -> tuple[str, ...]:
        """The photos that are on its page."""
        # In a handover a photo may be withheld, though its name is known. Elsewhere no photo is asked for, as that
        # would wait for it, and in a preview make it.
        if self._context.papers is not None:
            return tuple(self._context.photos.get(told.name, {}))
        return tuple(self._context.figures.log.photos.get(told.name, ()))


def _shorten(row: list[str]) -> list[str | int]:
    while len(row) > 2 and not row[-1]:
        row = row[:-1]
    return [0, *row[1:]] if row[0] == "-".join(list_search_words(row[1])) else [*row]
