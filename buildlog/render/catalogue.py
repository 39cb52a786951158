"""Which words does a page say in another language?

English stands where it is said, in templates and modules, so that each sentence is read beside what it speaks of. A
catalogue has another language's words for them: a PO file of GNU gettext, which translators' tools read, named after
its language, as `de.po` or `pt-BR.po`. What it has no words for stays English.

Every text is plain text, in Python and in templates alike. Places are named, `%(day)s`, as word order differs; and
what is counted has all the forms that the language needs, by the rule in the head of its file.
"""

from __future__ import annotations

import gettext
import io
from collections.abc import Iterable
from dataclasses import field
from decimal import Decimal
from pathlib import Path

from markupsafe import Markup

from buildlog import text as texts
from buildlog.frozen import frozen

FOLDER = "words"
"Where catalogues stand: in the folder of all themes, and in a log's own theme."
ENGLISH = "en-GB"
"""Language of the words that stand in templates and modules, and of dates and amounts where another is not known."""


class CatalogueRefused(Exception):
    """A catalogue cannot be used; its words say why, `line` where in `file`, counted from 1."""

    def __init__(self, words: str, file: Path, line: int) -> None:
        super().__init__(words)
        self.file, self.line = file, line


@frozen
class Catalogue:
    """The words of pages in one language; without a file, in English."""

    language: str = ENGLISH
    "whose words they are, as `de`"
    file: Path | None = None
    "where they stand; None: in templates and modules"
    translations: gettext.NullTranslations | None = field(default=None, repr=False)
    "None: every text is said as it stands"

    def speaks(self, language: str) -> bool:
        """Whether a language tag is of the language of these words, wherever it is spoken."""
        return language.lower().split("-")[0] == self.language.lower().split("-")[0]

    def say(self, text: str, /, **places: object) -> str:
        """A text in this language, with what goes into its places, as `%(day)s`."""
        said = self.translations.gettext(text) if self.translations else text
        return said % places if places else said

    def say_count(self, one: str, many: str, number: int | Decimal, /, **places: object) -> str:
        """The text that goes with a number, which stands at `%(number)s` unless it is given there as it is written."""
        return self._choose(one, many, number) % {"number": number, **places}

    def within(self, text: str) -> str:
        """A heading as it stands inside a sentence: in small letters in English, and as it is where nobody knows."""
        # German nouns, say, keep their capitals.
        return text if self.translations else text.lower()

    # What templates call: the text is escaped once it is translated, and so is all that goes into its places, but for
    # what is HTML already.
    def say_html(self, text: str, /, **places: object) -> Markup:
        """`say`, for a template."""
        said = escape_text(self.translations.gettext(text) if self.translations else text)
        return said % places if places else said

    def say_count_html(self, one: str, many: str, number: int | Decimal, /, **places: object) -> Markup:
        """`say_count`, for a template."""
        return escape_text(self._choose(one, many, number)) % {"number": number, **places}

    def _choose(self, one: str, many: str, number: int | Decimal) -> str:
        if self.translations is None:
            return one if number == 1 else many
        # The rules of PO files know whole numbers alone; 1.5 is told as more than one.
        return self.translations.ngettext(one, many, int(number) if number == int(number) else 2)


IN_ENGLISH = Catalogue()
"Every text as it stands."


def escape_text(text: str) -> Markup:
    """A text as HTML, also between double quotes; an apostrophe stays, as it reads better in the page's source."""
    return Markup(text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&#34;"))


to_say = texts.to_say
"Marks a text that is kept in a table and said elsewhere."


def find_catalogue(language: str, folders: Iterable[Path]) -> Catalogue:
    """The catalogue of a language in the first folder that has it, `de` for `de-AT` too; else that of English.

    Raises `CatalogueRefused`.
    """
    if IN_ENGLISH.speaks(language):
        return IN_ENGLISH
    # By the names in the folder: a language is a text of the owner's, and no path is made of it.
    wanted = [language.lower(), language.lower().split("-")[0]]
    for folder in folders:
        files = {path.stem.lower(): path for path in folder.glob("*.po") if path.is_file()}
        for name in wanted:
            if name in files:
                return read_catalogue(files[name])
    return IN_ENGLISH


def read_catalogue(file: Path) -> Catalogue:
    """A PO file with all its places as the English text has them; raises `CatalogueRefused`."""
    # Imported late: a site in English reads none.
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import PoFileError, read_po

    try:
        messages = read_po(io.BytesIO(file.read_bytes()), locale=file.stem.replace("-", "_"), abort_invalid=True)
    except PoFileError as error:
        raise CatalogueRefused(str(error), file, error.lineno + 1) from None
    except (ValueError, LookupError) as error:  # no UTF-8, no known language, plural forms that are none
        raise CatalogueRefused(str(error), file, 1) from None
    for message in messages:
        # One place that no value comes for would end in a page that cannot be made.
        for fault in message.check(messages) if message.id and any(message.string or ()) else ():
            raise CatalogueRefused(str(fault), file, message.lineno or 1)
    compiled = io.BytesIO()
    write_mo(compiled, messages)
    compiled.seek(0)
    return Catalogue(language=file.stem, file=file, translations=gettext.GNUTranslations(compiled))
