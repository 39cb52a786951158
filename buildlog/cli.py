"""The command line: one group of all commands, which live in `buildlog.commands`.

Heavy modules are imported where they are used, so that `buildlog --help` answers at once.
"""

from __future__ import annotations

import click

from buildlog import __version__
from buildlog.commands.asking import apart, costs, due, faults, parts
from buildlog.commands.handing_on import handover, seal, verify
from buildlog.commands.keeping import check, forget_photos, publish, schema, start, write

KEEPING = (start, write, check, publish, schema, forget_photos)
ASKING = (costs, parts, due, faults, apart)
HANDING_ON = (seal, handover, verify)


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, message="buildlog %(version)s")
def main() -> None:
    """Turn one machine's log of dated entries into exact figures and a static site."""


for command in (*KEEPING, *ASKING, *HANDING_ON):
    main.add_command(command)
