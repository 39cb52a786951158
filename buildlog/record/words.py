"""What is told of a stranger's record, rule by rule: the words that `verify` and the page that checks have in common.

A key is the rule that is broken, and behind a colon which of its cases, where a rule has several. `{name}` stands for a
value, `{name|one|many}` for the word that agrees with a number.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

WORDS: Mapping[str, str] = {
    # the folder or zip as such
    "unreadable": "it cannot be read: {why}",
    "too-large": "it has {size} {size|byte|bytes}, more than the {most} that are read",
    "too-many-values": "it has more than the {most} values that are read",
    "name-too-long": "a name is too long or lies too deep",
    "name-unsafe": "a name leaves the folder or does not mean the same everywhere",
    "names-collide": "this name stands here twice, or differs in case from `{other}`",
    "too-many-files": "there are more than {most} files",
    "too-many-files:folders": "there are more than {most} folders",
    "too-many-files:directory": "its list of files is larger than will be read",
    "not-a-file": "this is a link or a device, no file",
    "zip-end": "this is no folder, and no zip that ends as one does",
    "zip-broken": "its list of files is damaged",
    "zip-broken:size": "it says that it holds more bytes than it has",
    "zip-member:folder": "a folder that holds bytes",
    "zip-member:encrypted": "this file is encrypted",
    "zip-member:method": "this file is packed in a way that is not read",
    "zip-overlap": "two files use the same bytes of the zip",
    "zip-bomb": "its files would be far larger than what lies on the disk",
    "no-bag:folders": "the zip holds more than one folder",
    # 1. files
    "no-bag": "it is missing: this is no bag",
    "declaration": "it does not say what it must (RFC 8493, section 2.1.1)",
    "missing": "it is missing",
    "missing:listed": "`{manifest}` lists it, and it is not there",
    "added": "`{manifest}` does not list it",
    "added:tag": "no bag of ours has this file",
    "changed": "its sum is not the one that `{manifest}` lists",
    "manifest-line": "line {line} is not a valid checksum line",
    "manifest-line:again": "line {line} lists `{name}` again",
    "manifest-order": "its lines are not in order",
    "oxum": "Payload-Oxum is not `{counted}`, which is what is there",
    "files holds": "{files} {files|file|files}, {bytes} {bytes|byte|bytes}",
    "refused open": "the files are not as a handover has them",
    # 2. sealed
    "sealed-missing": "it was sealed, and is neither here nor listed as withheld",
    "sealed-changed": "it is not as its latest leaf says",
    "sealed-returned": "it was sealed as gone, and is here",
    "sealed-unsealed": "it is in no seal",
    "sealed holds": "{files|the one file|all {files} files} of the log {files|is as it was|are as they were} sealed",
    "sealed open": "the log was never sealed: this shows only that files are as they were handed over",
    # 3. seals
    "leaves-too-many": "it has more than {most} {unit} and is not read",
    "leaf-cut": "line {line} has no end",
    "leaf-unreadable": "line {line} is no leaf: {why}{more}",
    "amends-wrong": "line {line} does not amend the leaf before it of `{path}`{more}",
    "lines like it": ", and {more} more {more|line|lines} like it",
    "seal-unreadable": "this is no seal: {why}",
    "seal-misnamed": "the seal in it calls itself `{called}`",
    "seal-missing": "this seal is missing",
    "seal-missing:many": "this seal and all up to `{last}` are missing",
    "chain-broken": "the sum that it names is not that of `{before}`",
    "chain-broken:first": "the first seal names a seal before it",
    "leaves-fall": "it counts {leaves} {leaves|leaf|leaves}, the one before {before}",
    "date-falls": "it is dated {date}, the one before {before}",
    "seal-root-wrong": "its root is not that of the leaves it counts, though a later seal over them holds",
    "root-differs": "its root is not that of its leaves: it was changed, or one of lines {first} to {last}",
    "leaves-changed": "one of lines {first} to {last} was changed, added, dropped or moved: "
    "no seal from `{seal}` on holds",
    "leaves-missing": "the list of leaves is missing",
    "leaves-cut-short": "it has {lines} whole {lines|line|lines}, and `{seal}` counts {sealed}",
    "leaves-not-sealed": "it has {lines} {lines|line|lines}, and the seals count {sealed}",
    "unfinished": "a sealing was interrupted: `buildlog seal` finishes it",
    "stray-file:seal": "it belongs to no seal",
    "seals holds": "{seals} {seals|seal of|seals from {first} to} {date}, {leaves} {leaves|leaf|leaves}, "
    "root {root}, code {code}",
    "seals kept": "{says}; the code that you kept is that of seal {number}, of {date}",
    "seals short": "{says}; it is short, {bits} bits: an owner who wants to can make two logs that have it",
    "code-unknown": "no seal has the code that you kept",
    "seals open": "there is no seal",
    # 4 and 5. stamps and signatures
    "stamps open": "no seal has a time stamp: that the dates are right is the owner's word",
    "signatures open": "no seal is signed: nothing here shows who made them",
    # 12. withheld, and what stands where
    "no-list": "it is missing: this is a bag, and no handover",
    "name-twice": "it stands for `{path}`, and another file too",
    "stray-file": "no handover has this file",
    "names-wrong": "the owner's names that it lists are not those of the files that are here",
    "not-withheld": "it is listed as withheld, and is here",
    "withheld-wrong": "`{path}` is withheld, and not as its latest leaf says",
    "withheld none": "nothing",
    "withheld some": "{files} of the log's files: {names}",
    "withheld holds": "{some}; {files|it was|each was} sealed, and can be shown later",
    "withheld open": "{some}; not sealed, so nothing shows what {files|it was|they were}",
    "list open": "`{list}` cannot be read",
    # what contradicts itself, and what has to be known
    "info-differs": "{line} is `{said}`, and `{list}` says `{value}`",
    "info-more": "the line `{line}` is none of ours, and nothing here bears it out",
    "date-impossible": "it is dated {date}, which is impossible: seals are written by a standard of {month} (RFC 8785)",
    "date-impossible:later": "it is dated {date}, which is impossible: today is {today}",
    "sealed-before-its-day": "it is dated {date}, which is impossible for entries of later days: {names}",
    "entries-left-out": "{entries} {entries|entry is|entries are} of a later day than the figures, which are of {day}: "
    "counted nowhere and on no page, the last of {last}; {names}",
    "figures-older": "the figures are of {day}, and the last seal is of {date}: ask for later ones",
    "day-to-come": "the figures are of {day}, a day that has not come: today is {today}",
    "last-not-signed": "the last seal, {number} of {date}, is not signed, as earlier ones are: "
    "anybody can have made it",
    "last-not-stamped": "the last seal, {number} of {date}, has no time stamp, as earlier ones have: "
    "it can have been made at any time",
    "not-vouched": "no signature and no time stamp covers {entries} {entries|entry|entries} of the log as "
    "{entries|it is|they are} here: {names}",
    "not-vouched:money": "{said}; by `{figures}` {spent} {currency} of what was spent {entries|stands|stand} in "
    "{entries|it|them}",
    "not-vouched:files": "no signature and no time stamp covers {files} {files|file|files} of the log as "
    "{files|it is|they are} here: {names}",
    "another-key": "a change of key: seal {number} is signed with {new}, seal {before} with {old}; ask the owner why",
    "signers-differ": "a change of key: its keys are not those of the signatures that are here",
    "signers-differ:missing": "a change of key: it is missing, and seals are signed",
    "signers-differ:unsigned": "a change of key: it lists keys, and no seal is signed",
    "no-stamp-for-it": "it is to vouch for a time stamp, and there is none",
    "names": "{names} and {more} more",
    "pages open": "not here: `buildlog verify` makes pages and pictures again; "
    "this page cannot tell a picture that was exchanged",
    # how many
    "fails": "{flaws} {flaws|thing does|things do} not hold",
    "fails more": "{flaws} things do not hold, of which {named} {named|is|are} named",
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


def name_rule(key: str) -> str:
    """The rule that a key is about."""
    return key.partition(":")[0]
