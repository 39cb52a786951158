"""How much of a stranger's record is read: the bounds that `verify` and the page that checks have in common.

They are far above what an owner makes, and low enough that nothing which a record holds takes more than two minutes or
a gigabyte of memory on two cores, beyond what it takes to read once what lies on the disk.
"""

from __future__ import annotations

# ── names, folders and zips ──────────────────────────────────────────────────────────────────────────────────────

MOST_FILES = 200_000
"Files of a bag: 20,000 photos, their originals and four published pictures each, their pages, and room besides."
MOST_FOLDERS = 50_000
"Folders of a bag: an entry with photos has two."
DEEPEST_NAME = 12
"Parts of a name; ours have five, and papers may lie a few folders deeper."
LONGEST_NAME = 1_000
"Characters of a whole name."
LARGEST_DIRECTORY = 30_000_000
"Bytes of a zip's central directory: most files at 150 bytes each. It is read whole before anything is known."
MOST_RATIO = 200
"How many times larger than what lies on the disk files may be: text shrinks to a tenth, a bomb to a thousandth."
LEAST_SUSPECT = 10_000_000
"Bytes below which no ratio is suspect."
MOST_ADDED = 2_000_000_000
"Bytes by which files may be larger than what lies on the disk: entries, pages and figures of ten thousand evenings."

LONGEST_PART = 120
"Characters of one part of a name; most file systems take 255 bytes, and some room is left for numbers."
LONGEST_SUFFIX = 10
"Characters of what stands behind a name's last dot."
LONGEST_PATH = 4_096
"Bytes of an owner's path: PATH_MAX of Linux, limits.h."

# ── single files ─────────────────────────────────────────────────────────────────────────────────────────────────

LARGEST_MANIFEST = 60_000_000
"Bytes of a manifest: most files at 300 bytes a line."
MOST_WRONG_LINES = 100
"Lines of a manifest that cannot be read, after which no more are."
LARGEST_INFO = 100_000
"Bytes of `bag-info.txt`; ours has ten lines."
LARGEST_LIST = 32_000_000
"Bytes of `handover.json`: 20,000 photos with four pictures each make ten million."
LARGEST_FIGURES = 100_000_000
"Bytes of `figures.json`: 2,000 entries make 20 million."
MOST_LISTED = 1_000_000
"Values in `handover.json`, counted by the signs between them: each takes far more memory than its bytes."
MOST_FIGURES = 1_500_000
"Values in `figures.json`, counted so: 2,000 entries make 900,000."
LARGEST_LEAVES = 64_000_000
"Bytes of `leaves.jsonl`: most leaves at 320 bytes each."
MOST_LEAVES = 200_000
"Leaves that are read: 20,000 photos amended nine times."
LONGEST_LINE = 32_768
"Bytes of one leaf: the longest path and reason, each character escaped."
LONGEST_REASON = 1_000
"Characters of why a file was changed: a paragraph."
MOST_SEALS = 9_999
"Their names have four digits."
LARGEST_SEAL = 1_000
"Bytes; ours have 330."
LARGEST_SIGNERS = 1_000_000
"Bytes of `allowed_signers`: a key for each of a thousand seals."
DEEPEST_VALUE = 64
"Lists and objects inside each other; the record's own files have fewer than ten. No standard sets a number."
LARGEST_PAGE = 8_000_000
"Bytes of an entry's page that is searched for its proof."

# ── what is told ─────────────────────────────────────────────────────────────────────────────────────────────────

MOST_NAMED = 5
"Failures of one kind that are told by name; a stranger's bag may have a hundred thousand."
MOST_SHOWN = 5
"Withheld files that are told by name; all of them stand in the list."


def list_limits() -> dict[str, int]:
    """Each bound by its name."""
    return {name: value for name, value in globals().items() if name.isupper()}
