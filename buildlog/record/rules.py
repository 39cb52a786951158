"""What `verify` and the page that checks have in common: how much of a record is read, and in which words it is told.

The bounds are far above what an owner makes, and low enough that nothing which a record holds takes more than two
minutes or a gigabyte of memory on two cores, beyond what it takes to read once what lies on the disk.

What is told goes by rules. A key of `WORDS` is the rule that is broken, and behind a colon which of its cases, where a
rule has several. `{name}` stands for a value, `{name|one|many}` for the word that agrees with a number.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping

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

PROMPT_STAMP = 31
"Days after its seal in which a stamp is nothing special: owners seal one evening and stamp another. No standard."

# ── what is told ─────────────────────────────────────────────────────────────────────────────────────────────────

MOST_NAMED = 5
"Failures of one kind that are told by name; a stranger's bag may have a hundred thousand."
MOST_SHOWN = 5
"Withheld files that are told by name; all of them stand in the list."

MOST_ASKED = 3
"Gaps and claims that a buyer is told to ask about, the largest first: more would not be asked."
LONG_GAP = 75
"Days without an entry from which a buyer may ask what happened; fewer are a holiday or a cold month. No standard."
COSTLY_PART = 50
"A claim is dear from this part of all that was spent: a fiftieth. No standard."


def list_limits() -> dict[str, int]:
    """Each bound by its name."""
    return {name: value for name, value in globals().items() if isinstance(value, int)}


WORDS: Mapping[str, str] = {
    # the folder or zip as such
    "unreadable": "it cannot be read: {why}",
    "too-large": "it has {size} {size|byte|bytes}; the limit is {most}",
    "too-many-values": "it has more values than the limit of {most}",
    "name-too-long": "a name is too long or too many folders deep",
    "name-unsafe": "a name leads out of the folder or does not mean the same on every system",
    "names-collide": "this name is here twice, or differs only in capitals from `{other}`",
    "too-many-files": "there are more than {most} files",
    "too-many-files:folders": "there are more than {most} folders",
    "too-many-files:directory": "its list of files is too large to be read",
    "not-a-file": "this is a link or a device, not a file",
    "zip-end": "this is neither a folder nor a complete zip",
    "zip-broken": "its list of files is damaged",
    "zip-broken:size": "it claims to have more bytes than it has",
    "zip-member:folder": "this is a folder, but it has contents like a file",
    "zip-member:encrypted": "this file is encrypted",
    "zip-member:method": "this file is compressed in a way that cannot be read",
    "zip-member:name": "it has a second name, which other programs would give it",
    "zip-member:header": "its own header does not agree with the list of files",
    "zip-gap": "bytes of the zip belong to none of its files: another program may find other files in it",
    "zip-overlap": "two files use the same bytes of the zip",
    "zip-bomb": "its files would be far larger than the space they take up on disk",
    "no-bag:folders": "the zip contains more than one folder",
    # 1. files
    "no-bag": "it is missing: this is not a bag",
    "declaration": "it does not say what it must (RFC 8493, section 2.1.1)",
    "missing": "it is missing",
    "missing:listed": "`{manifest}` lists it, but it is not there",
    "added": "`{manifest}` does not list it",
    "added:tag": "this file does not belong in a bag",
    "changed": "its checksum is not the one in `{manifest}`",
    "manifest-line": "line {line} is not a valid checksum line",
    "manifest-line:again": "line {line} lists `{name}` again",
    "manifest-order": "its lines are not in order",
    "oxum": "Payload-Oxum should be `{counted}`, going by what is there",
    "files holds": "{files} {files|file|files}, {bytes} {bytes|byte|bytes}",
    "refused open": "the files are not those of a handover",
    # 2. sealed
    "sealed-missing": "it was sealed, but is neither here nor listed as withheld",
    "sealed-changed": "it is not the version that was last sealed",
    "sealed-returned": "it was sealed as gone, but is here",
    "sealed-unsealed": "no seal covers it",
    "sealed holds": "{files|the one file|all {files} files} of the log {files|is as it was|are as they were} sealed",
    "sealed open": "the log was never sealed: this only shows that files are as they were handed over",
    # 3. seals
    "leaves-too-many": "it has more than the limit of {most} {unit}",
    "leaf-cut": "line {line} is not complete",
    "leaf-unreadable": "line {line} is not a valid leaf: {why}{more}",
    "amends-wrong": "line {line} does not amend the previous leaf of `{path}`{more}",
    "lines like it": ", and {more} more {more|line|lines} like it",
    "seal-unreadable": "this is not a valid seal: {why}",
    "seal-misnamed": "the seal in it calls itself `{called}`",
    "seal-missing": "this seal is missing",
    "seal-missing:many": "this seal and all up to `{last}` are missing",
    "chain-broken": "the checksum it names is not that of `{before}`",
    "chain-broken:first": "the first seal names a seal before it",
    "leaves-fall": "it covers {leaves} {leaves|leaf|leaves}, but the one before covers {before}",
    "date-falls": "it is dated {date}, but the one before is dated {before}",
    "seal-root-wrong": "its root is not that of the leaves it covers, though a later seal over them holds",
    "root-differs": "its root is not that of its leaves: it was changed, or one of lines {first} to {last} was",
    "leaves-changed": "one of lines {first} to {last} was changed, added, dropped or moved: "
    "no seal from `{seal}` on holds",
    "leaves-missing": "the list of leaves is missing",
    "leaves-cut-short": "it has {lines} complete {lines|line|lines}, but `{seal}` covers {sealed}",
    "leaves-not-sealed": "it has {lines} {lines|line|lines}, but the seals cover {sealed}",
    "unfinished": "sealing was interrupted: `buildlog seal` finishes it",
    "stray-file:seal": "it does not belong to any seal",
    "seals holds": "{seals} {seals|seal dated|seals dated {first} to} {date}, {leaves} {leaves|file|files} listed, "
    "root {root}, code {code}",
    "seals kept": "{says}; the code you kept is that of seal {number}, dated {date}",
    "seals short": "{says}; it is a short code, {bits} bits: an owner who sets out to can make two logs that have it",
    "code-unknown": "no seal has the code you kept",
    "seals open": "there are no seals",
    # 4 and 5. stamps and signatures
    "stamps open": "no seal has a time stamp: the dates are only the owner's word",
    "signatures open": "no seal is signed: nothing here shows who made them",
    # 12. withheld, and what stands where
    "no-list": "it is missing: this is a bag, but not a handover",
    "name-twice": "it stands for `{path}`, but so does another file",
    "stray-file": "this file does not belong in a handover",
    "names-wrong": "the owner's names that it lists do not match the files that are here",
    "not-withheld": "it is listed as withheld, but is here",
    "withheld-wrong": "`{path}` is withheld, but is not listed as it was last sealed",
    "withheld none": "nothing",
    "withheld some": "{files} of the log's files: {names}",
    "withheld holds": "{some}; sealed, so {files|it|they} can be shown and compared later",
    "withheld open": "{some}; not sealed, so nothing shows what {files|it was|they were}",
    "list open": "`{list}` cannot be read",
    # what contradicts itself, and what has to be known
    "info-differs": "{line} is `{said}`, but `{list}` says `{value}`",
    "info-more": "the line `{line}` is not ours, and nothing here bears it out",
    "date-impossible": "it is dated {date}, which is impossible: seals use a standard published in {month} (RFC 8785)",
    "date-impossible:later": "it is dated {date}, which is impossible: today is {today}",
    "sealed-before-its-day": "it is dated {date}, but covers entries dated later, which is impossible: {names}",
    "entries-left-out": "{entries} {entries|entry is|entries are} dated after the figures, which are as of {day}: "
    "not counted and not on any page, the last dated {last}; {names}",
    "figures-older": "the figures are as of {day}, but the last seal is dated {date}: ask for newer ones",
    "day-to-come": "the figures are as of {day}, which is still to come: today is {today}",
    "last-not-signed": "the last seal, {number} of {date}, is not signed, though earlier ones are: "
    "anybody could have made it",
    "last-not-stamped": "the last seal, {number} of {date}, has no time stamp, though earlier ones have: "
    "it could have been made at any time",
    "stamp-later": "it is dated {time}, {days} days later than its seal, {date}: it proves only its own day",
    "stamp-long-after": "it is dated {time}, {days} days later than its seal, {date}: it proves only its own day",
    "stamp-earlier": "it is dated {time}, but its seal is dated {date}, which is impossible",
    "not-vouched": "no signature or time stamp covers {entries} {entries|entry|entries} of the log as "
    "{entries|it is|they are} here: {names}",
    "not-vouched:money": "{said}; according to `{figures}`, {spent} {currency} of what was spent is in "
    "{entries|it|them}",
    "not-vouched:files": "no signature or time stamp covers {files} {files|file|files} of the log as "
    "{files|it is|they are} here: {names}",
    "another-key": "a change of key: seal {number} is signed with {new}, seal {before} with {old}; ask the owner why",
    "signers-differ": "a change of key: its keys are not those of the signatures here",
    "signers-differ:missing": "a change of key: it is missing, but seals are signed",
    "signers-differ:unsigned": "a change of key: it lists keys, but no seal is signed",
    "no-stamp-for-it": "it should vouch for a time stamp, but there is none",
    "names": "{names} and {more} more",
    "pages open": "not checked here: `buildlog verify` makes pages and pictures again; "
    "this page cannot tell whether a picture was swapped",
    # totals and proofs, without computing the log
    "figures-unreadable:none": "these are not figures",
    "figures-unreadable:amount": "`{text}` is not an amount",
    "figures-unreadable:day": "`{text}` is not a day",
    "figures-unreadable:line": "a total names a line that is not there",
    "sum-wrong": "`{name}` is {written}, but its parts add up to {made}",
    "sum-wrong:lines": "`costs.{way}` does not count each line exactly once",
    "sum-wrong:state": "`{name}` is `{written}`, but what is said of it makes it `{made}`",
    "sum-wrong:entry": "`{name}` names `{entry}`, which is none of the entries that the figures count",
    "sum-wrong:place": "`{name}` is said to be written at `{place}`, which is not in what it names",
    "sum-wrong:pair": "`{name}` has only one of `{one}` and `{other}`",
    "proof-wrong": "it does not lead to the root of any seal here",
    "proof-wrong:path": "its path is not made of checksums",
    "proof-wrong:root": "worked out, it does not lead to the root of `{seal}`",
    # START-HERE.html: what a package is, for whoever has never seen one
    "start sealed": "When the owner seals the record, its words, photos and papers are fixed as they are on that day, "
    "so that a later change shows. It was last sealed on {day}. The checks show whether anything has changed since.",
    "start dates": "Before that day, what was written rests on the owner’s word, and so does the date itself unless "
    "somebody else vouches for it. The checks say who does.",
    "start unsealed": "The owner never sealed this record, so nothing shows when any of it was written. The checks can "
    "still show whether all of it is here as it was packed, and whether it agrees with itself.",
    "start seals": "{seals|once, on {day}|{seals} times, the last time on {day}}",
    "start code": "If you noted a short code on an earlier day, type it in when you check: it shows whether this is "
    "still the record that you saw.",
    "start all": "nothing: all the files of the record are here",
    "start held": "{files|one file, which the checks name|{files} files, which the checks name}",
    "start left out": "{entries|one entry|{entries} entries} of days later than {day}, not counted in any figure",
    # the verdict: one sentence, in words of every day
    "verdict holds": "No entry, photo or paper in this package was changed since it was sealed on {day}; "
    "that date, and what was written up to then, is the owner’s word",
    "verdict unsealed": "All that was packed is here, but its owner never sealed it: "
    "nothing shows when any of it was written",
    "verdict changed": "Something in this package was changed or added since it was sealed or packed: "
    "ask the seller for a fresh copy, and do not rely on this one",
    "verdict missing": "Something is missing from this package: "
    "ask the seller for a complete copy, and do not rely on this one",
    "verdict both": "Something in this package was changed or added since it was sealed or packed, and something is "
    "missing: ask the seller for a fresh copy, and do not rely on this one",
    "verdict contradicts": "This package contradicts itself: one part says what another does not bear out, "
    "so do not rely on it before the seller has explained why",
    "verdict other": "This is not the record whose short code you kept: it is another one, "
    "or it was written anew since the day on which you noted the code",
    "verdict refused": "This could not be checked: {why}",
    "verdict no record": "This is not a complete record, so it was not checked: "
    "choose the folder that has another one called “data” directly in it, or the zip as you were given it",
    "verdict first": "Before you rely on that, read what comes first below",
    # a short code that was kept
    "code holds": "The short code you kept is in this record: it is that of the seal of {day}, and all that it covered "
    "is still on record; since then {changed} {changed|file was|files were} changed, with a reason given, and {added} "
    "added",
    "code last": "The short code you kept is in this record: it is that of the last seal, of {day}, "
    "and nothing was added or changed since",
    "code broken": "The short code you kept is in this record, as that of the seal of {day}, "
    "but not all that was sealed is still as it was",
    # what was checked, in words of every day
    "plain files holds": "All that was packed is here, and nothing was added",
    "plain files fails": "Not all is here as it was packed",
    "plain sealed holds": "Entries, photos and papers are as the owner last sealed them",
    "plain sealed fails": "Not all that the owner sealed is as it was",
    "plain sealed absent": "The owner never sealed the record",
    "plain seals holds": "The seals follow one another, and none is missing",
    "plain seals fails": "The seals do not fit one another, or what they cover",
    "plain stamps holds": "A time service confirms when it was sealed",
    "plain stamps fails": "What confirms the date of a seal does not fit it",
    "plain stamps absent": "Nobody but the owner says when it was sealed",
    "plain signatures holds": "It is signed; whose signature that is, only the owner can show you",
    "plain signatures fails": "A signature does not fit what it signs",
    "plain signatures absent": "Nobody signed it",
    "plain totals holds": "Costs, parts and faults follow from the entries",
    "plain totals fails": "Costs, parts or faults do not follow from the entries",
    "plain service holds": "What is due follows from the entries",
    "plain service fails": "What is due does not follow from the entries",
    "plain meter holds": "The meter readings agree with one another",
    "plain meter fails": "The meter readings do not agree with one another",
    "plain identity holds": "The machine’s number contains no slip of the pen: compare it with the machine",
    "plain identity fails": "What identifies the machine does not fit together",
    "plain identity absent": "Nothing here can test the machine’s number: compare it with the machine and its papers",
    "plain evidence holds": "The record is right about how well its claims are backed up",
    "plain evidence fails": "The record is wrong about how well its claims are backed up",
    "plain pages holds": "The pages and pictures show what the owner wrote and photographed",
    "plain pages pictures": "The pages show what the owner wrote, and each picture that was compared shows its photo",
    "plain pages fails": "Pages or pictures do not show what the owner wrote and photographed",
    "plain withheld none": "The owner held nothing back",
    "plain withheld holds": "The owner held files back; what they were is on record, so they can be shown later",
    "plain withheld absent": "The owner held files back, and nothing shows what they were",
    "plain withheld fails": "The record is wrong about what the owner held back",
    "plain sums holds": "The costs add up",
    "plain sums fails": "The costs do not add up",
    "plain proofs holds": "The seals that the entries’ pages show are those of this package",
    "plain proofs fails": "A page shows a seal that is not in this package",
    "plain open": "Not checked here: {what}. The details say what can check it",
    "plain open figures": "whether the figures follow from the entries",
    "plain open pages": "whether the pages and pictures show what the entries say",
    "plain open pictures": "the pictures that were too many or too large",
    "plain open stamps": "what a time service confirms",
    "plain open signatures": "who signed it",
    # what to ask the seller
    "ask none": "Nothing in this record itself gives reason to ask",
    "ask stated": "These questions follow from the package’s own figures, which were not worked out anew here",
    "ask-left-out": "{entries|One entry is|{entries} entries are} later than the figures, which are as of {day}: "
    "is there a package with all of it?",
    "ask-older": "The figures are as of {day}, but the last seal is dated {sealed}: is there a newer package?",
    "ask-withheld": "{files|One file was|{files} files were} held back: {names}. Why, and can you see {files|it|them}?",
    "ask-unsealed": "The record was never sealed. Why not, and what from outside it shows when it was written?",
    "ask-sealed-late": "The first entry is dated {first}, but the first seal {sealed}. What from outside this record, "
    "such as messages or bills, shows that it was written along the way?",
    "ask-no-stamp": "Only the owner says when it was last sealed. Can anybody else confirm it, "
    "such as somebody who noted its short code?",
    "ask-gap": "Nothing is written for more than {months} {months|month|months}, between {first} and {last}. "
    "What happened then?",
    "ask-meter": "The seller’s statement about the meter is “{statement}”. What is the true total, "
    "and how is it known?",
    "ask-meter:unstated": "The seller does not state whether the meter shows the true total. Does it?",
    "ask-meter:none": "No reading of the meter is written down. What does it show, and is that the true total?",
    "ask-meter-changed": "The meter was replaced, set, or went past zero {steps|once|{steps} times}. "
    "Is there a paper or a picture of what it showed before and after?",
    "ask-stated": "Nothing but the owner’s word backs {names}. Is there a bill, or anything else to look at?",
    "ask-fault": "Not mended, or not yet shown to be: {names}. What is known, and what would it cost?",
    "ask-temporary": "Only a temporary repair so far: {names}. When will it be done properly, and by whom?",
    "ask-overdue": "Overdue: {names}. Will it be done before the sale, or does the price allow for it?",
    "ask-unknown": "Nobody knows when this was last done: {names}. Does the seller, or does the price allow for it?",
    # how many
    "fails": "{flaws} {flaws|thing does|things do} not hold",
    "fails more": "{flaws} things do not hold, of which {named} {named|is|are} listed",
}

HOLE = re.compile(r"\{(\w+)(?:\|((?:[^{}|]|\{\w+\})*)\|((?:[^{}|]|\{\w+\})*))?\}")
"Read by Python and by JavaScript alike."


def say(key: str, **values: object) -> str:
    """The words of a key with its values; raises `KeyError` where one is missing."""
    return _fill(WORDS[key], values)


def _fill(text: str, values: Mapping[str, object]) -> str:
    def choose(hole: re.Match[str]) -> str:
        value = values[hole[1]]
        return str(value) if hole[2] is None else _fill(hole[2 if value == 1 else 3], values)

    return HOLE.sub(choose, text)


MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
"Written out here: neither page nor tool has a clock or a language of its own in what it tells."


def say_day(day: datetime.date) -> str:
    """A day in words, `30 November 2024`."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def name_rule(key: str) -> str:
    """The rule that a key is about."""
    return key.partition(":")[0]
