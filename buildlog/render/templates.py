"""A theme's templates, compiled by Jinja: once for a site, and what comes with the program once for all of them.

Those of a log's own run in Jinja's sandbox: they may be a stranger's.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import re
import sys
from collections.abc import Callable
from importlib.util import cache_from_source
from pathlib import Path
from types import CodeType
from typing import Any

import jinja2
from jinja2 import nodes
from jinja2.bccache import Bucket, BytecodeCache
from jinja2.compiler import CodeGenerator, Frame
from jinja2.sandbox import ImmutableSandboxedEnvironment
from jinja2.visitor import NodeTransformer
from markupsafe import Markup, escape

from buildlog.render.catalogue import Catalogue

EDITION = "1"
"Changes with the code that the same template is compiled to."


class _Compiled(BytecodeCache):
    """What templates that come with the program were compiled to, by path and source.

    It is kept for as long as this process lives, and beside the template where Python keeps what it compiled a module
    to (PEP 3147): whoever may write there could as well write a module. Never in the user's cache, of which nothing is
    run, and nothing of a log's own theme.
    """

    def __init__(self) -> None:
        self._codes: dict[tuple[str, str], CodeType] = {}

    def get_cache_key(self, name: str, filename: str | None = None) -> str:
        """Both in clear: the code has the name in it, and the file says where it is kept."""
        return f"{name}\n{filename or ''}"

    def get_source_checksum(self, source: str) -> str:
        """Jinja's, over the source and by whom it is compiled."""
        return super().get_source_checksum(f"{EDITION}\n{source}")

    def load_bytecode(self, bucket: Bucket) -> None:
        bucket.code = self._codes.get((bucket.key, bucket.checksum))
        if bucket.code is None and (file := _find_compiled(bucket.key)):
            try:
                bucket.bytecode_from_string(file.read_bytes())
            # not there, cut short, or of another version of Jinja: it is compiled again
            except (OSError, EOFError, ValueError, pickle.UnpicklingError):
                bucket.reset()
            self._remember(bucket)

    def dump_bytecode(self, bucket: Bucket) -> None:
        self._remember(bucket)
        if (file := _find_compiled(bucket.key)) and not sys.dont_write_bytecode:
            passing = file.with_name(f"{file.name}.{os.getpid()}")
            with contextlib.suppress(OSError):  # installed for all users, by another one: compiled each time
                file.parent.mkdir(exist_ok=True)
                passing.write_bytes(bucket.bytecode_to_string())
                passing.replace(file)

    def _remember(self, bucket: Bucket) -> None:
        if bucket.code:
            self._codes[bucket.key, bucket.checksum] = bucket.code


def _find_compiled(key: str) -> Path | None:
    """Where Python would keep what a template was compiled to; None where it keeps nothing."""
    with contextlib.suppress(NotImplementedError):
        return Path(cache_from_source(key.split("\n")[1]))
    return None


_COMPILED = _Compiled()


class _Fold(NodeTransformer):
    """Says each text without places once, when its template is compiled, and not on every page."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._catalogue = catalogue

    def visit_Call(self, node: nodes.Call) -> nodes.Node:  # Jinja's name
        self.generic_visit(node)
        said = isinstance(node.node, nodes.Name) and node.node.name == "say"
        if said and not node.kwargs and isinstance(text := node.args[0], nodes.Const):
            return nodes.Const(self._catalogue.say_html(text.value), lineno=node.lineno)
        return node


class _Speaking(jinja2.Environment):
    """An environment whose templates say their words in a catalogue's language, by `say` and `say_count`.

    `spoken` is its tag, for `lang`; `within` is a text of the catalogue as it stands inside a sentence.
    """

    def __init__(self, catalogue: Catalogue, **options: Any) -> None:
        super().__init__(**options)
        self._catalogue = catalogue
        self.globals |= {"say": catalogue.say_html, "say_count": catalogue.say_count_html, "within": catalogue.within}
        # English as in any country: where it was said, nothing hangs on which.
        self.globals["spoken"] = catalogue.language if catalogue.file else "en"

    def _generate(self, source: nodes.Template, *args: Any, **named: Any) -> str:  # Jinja's hook for other code
        return super()._generate(_Fold(self._catalogue).visit(source), *args, **named)


class _SandboxedSpeaking(_Speaking, ImmutableSandboxedEnvironment):
    """The same for templates of a log's own."""


class _DirectCode(CodeGenerator):
    """Code that asks for fields and calls macros as Python does, and escapes a text where something in it is to be.

    A page of a long log has thousands of each, and Jinja's way with them took a tenth of publishing it. What a template
    says comes out the same; a field that is not there is an error all the same.
    """

    def visit_Getattr(self, node: nodes.Getattr, frame: Frame) -> None:  # Jinja's name
        self.write("(")
        self.visit(node.node, frame)
        self.write(f").{node.attr}")

    def visit_Call(self, node: nodes.Call, frame: Frame, forward_caller: bool = False) -> None:  # Jinja's name
        self.write("environment.ask(")
        self.visit(node.node, frame)
        self.signature(node, frame, {"caller": "caller"} if forward_caller else None)
        self.write(")")

    def _output_child_pre(self, node: nodes.Expr, frame: Frame, finalize: Any) -> None:  # Jinja's hook
        assert finalize.src is None and frame.eval_ctx.autoescape and not frame.eval_ctx.volatile
        self.write("environment.write_text(")


class _DirectSpeaking(_Speaking):
    """The same for templates that come with the program, whose values are ours."""

    code_generator_class = _DirectCode

    @staticmethod
    def ask(made: Callable[..., Any], *given: Any, **named: Any) -> Any:
        """A macro or a function called; none of ours wants to know the context."""
        return made(*given, **named)

    @staticmethod
    def write_text(value: Any) -> str:
        """A value as HTML that shows it."""
        kind = value.__class__
        if kind is Markup or (kind is str and not SPECIAL(value)):
            return value  # type: ignore[no-any-return]
        return escape(value)


SPECIAL = re.compile("[&<>'\"]").search
"Finds what may not stand in HTML as it is."


def make_environment(folders: tuple[Path, ...], sandboxed: bool, catalogue: Catalogue) -> jinja2.Environment:
    """One environment for a whole site: every template is compiled at most once."""
    # Without the log's own folder, whose name is no theme's.
    by_theme = {folder.name: jinja2.FileSystemLoader(folder) for folder in folders[1 if sandboxed else 0 :]}
    # A log's own templates may be a stranger's, and outside a sandbox a template reaches all of Python through any
    # value. Those that come with the program are trusted like the rest of it.
    kind = _SandboxedSpeaking if sandboxed else _DirectSpeaking
    return kind(
        catalogue,
        loader=jinja2.ChoiceLoader([jinja2.FileSystemLoader(folders), jinja2.PrefixLoader(by_theme)]),
        undefined=jinja2.StrictUndefined,  # a misspelt field would print nothing, and nobody would see it
        autoescape=True,  # whatever a template is called; only what is HTML already says `|safe`
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        auto_reload=False,  # would look at the file again for each page
        cache_size=-1,  # Jinja drops the oldest of 400 otherwise
        # In the sandbox, and in another language, the same template is other code.
        bytecode_cache=None if sandboxed or catalogue.file else _COMPILED,
    )
