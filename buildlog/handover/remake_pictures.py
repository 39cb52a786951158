"""Are the published pictures in a bag made of its photos? Each is made again from its original and compared.

An original is what its seal says, or question 2 fails; so what is published has to be what is made of it here. Where
the bytes differ, as another version of the encoder made them, the two are compared by likeness: encoders move single
pixels, by as much as an edge is sharp, and leave the mean of a larger square where it was. A picture of something else,
or one in which something was painted over, moves those means.
"""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from io import BytesIO
from math import inf
from pathlib import Path

from PIL import Image, ImageChops

from buildlog.compute.figures import Figures
from buildlog.frozen import frozen
from buildlog.handover.bag import PAYLOAD
from buildlog.handover.findings import Flaw
from buildlog.handover.hashed_bag import HashedBag
from buildlog.handover.manifest import LIST, LOG, SITE, Handover, Picture
from buildlog.handover.unpack import Refused
from buildlog.photos.decode import BrokenPhoto, fit, open_photo
from buildlog.photos.recipe import SUFFIXES
from buildlog.photos.variants import Developed, develop
from buildlog.read.numbers import Box
from buildlog.render.pages.photos import list_published
from buildlog.text import agree, count

BLOCK = 16
"Pixels of the edge of a square whose mean is compared."
MOST_UNLIKE = 12
"""Levels of 255 by which the mean of one square may differ in two pictures that pass for one.

Measured by `tests.bench.bench_likeness` over 45 pictures: other encoders, qualities and ways of scaling than ours come
to 10 at most, two different pictures to 63 at least; a square of 32 pixels that was smeared over passes 12 in two cases
of three.
"""


def measure_unlikeness(one: Image.Image, other: Image.Image) -> int:
    """The largest difference between the means of two squares at the same place, 0 to 255; both are RGB of one size."""
    return max(high for _, high in ImageChops.difference(_coarsen(one), _coarsen(other)).getextrema())  # type: ignore[misc]  # three bands


def _coarsen(image: Image.Image) -> Image.Image:
    return image.reduce((min(BLOCK, image.width), min(BLOCK, image.height)))


MOST_WORK = 5_000_000_000
"Pixels of all that is made again, see `_count_work`: 200 photos of 12 megapixels, half a minute on two cores."
ENCODED = 3
"How much more work a pixel of a published picture is than one of an original: it is encoded, decoded and compared."
LEAST_PICTURE = 100_000
"Pixels that a published picture counts for at least: a list may name one a thousand times."
LARGEST_ORIGINAL = 100_000_000
"Bytes of an original that is read whole."
LARGEST_PICTURE = 20_000_000
"Bytes of a published picture; ours have a fortieth."
LARGEST_SHOWN = 16_000_000
"Pixels of a published picture; ours have two million."
OTHER_SHAPE = 0.02
"By how much of itself the shape of a picture may differ from its original's: rounding to whole pixels."


@frozen
class PictureCheck:
    """What became of comparing pictures with their originals."""

    flaws: tuple[Flaw, ...] = ()
    "pictures that are not what their photo makes, and where list and entries differ"
    same: int = 0
    "pictures of the very same bytes"
    alike: int = 0
    "pictures that another encoder made of the same photo"
    withheld: int = 0
    "photos whose originals are not here"
    beyond: int = 0
    "photos that were not made again, as they are too large"
    left: int = 0
    "photos that were not made again, as there was no time for so many"
    unlisted: int = 0
    "photos that entries show, beyond those that the list tells of"

    def __str__(self) -> str:
        """What was compared, and what was not, in one line."""
        if self == PictureCheck():
            return "there are no pictures"
        same = f"{count(self.same, 'picture')} {agree(self.same, 'is', 'are')}"
        said = [f"{same} byte for byte what the photos make"] if self.same else []
        alike = (
            f"{self.alike} {agree(self.alike, 'looks', 'look')} the same as what the photos make, with another encoder"
        )
        said += [alike] if self.alike else []
        held = f"{count(self.withheld, 'photo')} that {agree(self.withheld, 'is', 'are')}"
        said += [f"the pictures of {held} withheld or missing were not compared"] if self.withheld else []
        many = f"{count(self.beyond, 'photo')} {agree(self.beyond, 'was', 'were')}"
        said += [f"{many} too large to be made again"] if self.beyond else []
        rest = f"{count(self.left, 'photo')} {agree(self.left, 'was', 'were')} left for lack of time"
        said += [f"{rest} (`--no-time-limit` compares {agree(self.left, 'it', 'them')} too)"] if self.left else []
        said += [f"{self.unlisted} of the photos that entries show have no pictures"] if self.unlisted else []
        return ", ".join(said)

    @property
    def whole(self) -> bool:
        """Whether every picture was compared."""
        return not (self.withheld or self.beyond or self.left)


@frozen
class _Original:
    """A photo of the log."""

    file: str
    "its name in the bag"
    hide: tuple[Box, ...]
    "what the entry says shall be filled before anything is published"


@frozen
class _Task:
    """The pictures of one photo, and what they may have been made of."""

    pictures: tuple[Picture, ...]
    "as the bag's list tells them"
    originals: tuple[_Original, ...]
    "the one; where another program named the pictures in its own way, all photos of the entry"


def check_pictures(
    bag: HashedBag, handover: Handover, figures: Figures, *, own: bool, unhurried: bool = False
) -> PictureCheck:
    """Every published picture against its original. Raises nothing for what a bag may hold.

    `own` says that this very program is said to have made them, so that the list names photos as it does; `unhurried`,
    that all are compared, however many there are.
    """
    published = {
        name: _Original(file=f"{PAYLOAD}{LOG}{handover.bag_name(path)}", hide=photo.hide)
        for path, name, photo in list_published(figures)
    }
    tasks = [*_list_tasks(handover, published, own=own)]
    there = [task for task in tasks if task.originals and all(one.file in bag.sizes for one in task.originals)]
    budget = _WorkBudget(inf if unhurried else MOST_WORK)
    with ThreadPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        found = [*pool.map(lambda job: _check_task(bag, job[1], job[0], budget), enumerate(there))]
    flaws = [*_check_list(handover, {*published})] if own else []
    return PictureCheck(
        flaws=(*flaws, *(flaw for one in found for flaw in one.flaws)),
        same=sum(one.same for one in found),
        alike=sum(one.alike for one in found),
        withheld=len(tasks) - len(there),
        beyond=sum(one.beyond for one in found),
        left=sum(one.left for one in found),
        unlisted=max(0, len(published) - len(handover.pictures)),
    )


def _check_list(handover: Handover, published: set[str]) -> Iterator[Flaw]:
    """Whether the list tells of the pictures of just those photos that the entries show."""
    for name in sorted(handover.pictures.keys() ^ published):
        if name in published:
            message = f"it lists no picture of `{name}`, a photo that is here and that an entry shows"
        else:
            message = f"it lists pictures of `{name}`, which no entry shows"
        yield Flaw(rule="pictures-wrong", message=message, file=PAYLOAD + LIST)


def _list_tasks(handover: Handover, published: Mapping[str, _Original], *, own: bool) -> Iterator[_Task]:
    """What is to be compared with what."""
    for name, listed in handover.pictures.items():
        entry = f"{name.partition('/')[0]}/"
        if name in published:
            yield _Task(pictures=listed.variants, originals=(published[name],))
        elif not own:
            mine = tuple(original for other, original in published.items() if other.startswith(entry))
            # A later version may name pictures otherwise: then one of the photos of that entry has to have made them.
            yield _Task(pictures=listed.variants, originals=mine)


class _WorkBudget:
    """The bound on the work, shared out in the order of the photos, whichever thread comes first: else the same bag
    would get now one answer, now another."""

    def __init__(self, most: float) -> None:
        self._left = most
        self._next = 0
        self._changed = threading.Condition()

    def spend(self, number: int, work: int) -> bool:
        """Whether there is room for the work of this photo, once all before it were asked for. Each asks once."""
        with self._changed:
            self._changed.wait_for(lambda: self._next == number)
            self._left -= work
            self._next += 1
            self._changed.notify_all()
            return self._left >= 0


Read = Callable[[str], bytes]
"The bytes of an original by its name in the bag. Raises `Refused`."


def _check_task(bag: HashedBag, task: _Task, number: int, budget: _WorkBudget) -> PictureCheck:
    """The pictures of one photo, by that of its possible originals which they fit best."""
    # Its pixels are counted before it is decoded. The last original is kept for that, and no more than that one: the
    # only one there is, but where another program named the pictures.
    read = lru_cache(maxsize=1)(lambda file: bag.read(file, LARGEST_ORIGINAL))
    work = 0
    try:
        work = _count_work(task, read)
    except MemoryError:
        return PictureCheck(beyond=1)
    finally:  # whatever happens: the next one waits for this
        there_is_room = budget.spend(number, work)
    if not there_is_room:
        return PictureCheck(left=1)
    found = (_check_photo(bag, task, one, read) for one in task.originals)
    # The one that fits best: of the photos of an entry one alone has made them.
    return min(found, key=lambda one: len(one.flaws) + one.beyond)


def _count_work(task: _Task, read: Read) -> int:
    """What comparing the pictures of a photo takes, in pixels of an original."""
    # The size that the list tells costs the work that it tells of; one that is larger than it says is refused when it
    # is opened.
    shown = sum(max(LEAST_PICTURE, one.width * one.height) for one in task.pictures)
    return sum(_count_pixels(one.file, read) + ENCODED * shown for one in task.originals)


def _count_pixels(file: str, read: Read) -> int:
    try:
        with open_photo(Path(file), file=BytesIO(read(file))) as image:
            return image.width * image.height
    except (BrokenPhoto, Refused):
        return 0  # told when it is made


def _check_photo(bag: HashedBag, task: _Task, original: _Original, read: Read) -> PictureCheck:
    """The pictures of one photo against one original."""
    try:
        made = develop(Path(original.file), original.hide, file=BytesIO(read(original.file)))
    except MemoryError:
        return PictureCheck(beyond=1)
    except Refused as why:
        if why.rule == "too-large":
            return PictureCheck(beyond=1)
        return PictureCheck(flaws=(Flaw(rule="photo-unreadable", message=why.message, file=original.file),))
    except BrokenPhoto as broken:
        flaw = Flaw(rule="photo-unreadable", message=f"it {broken.message.partition(' (')[0]}", file=original.file)
        return PictureCheck(flaws=(flaw,))
    whys = {one.path: _compare(bag, one, made) for one in task.pictures}
    flaws = [
        Flaw(rule=rule, message=why, file=f"{PAYLOAD}{SITE}{path}")
        for path, (rule, why) in whys.items()
        if rule not in ("same", "alike")
    ]
    rules = [rule for rule, _ in whys.values()]
    return PictureCheck(flaws=tuple(flaws), same=rules.count("same"), alike=rules.count("alike"))


def _compare(bag: HashedBag, picture: Picture, made: Developed) -> tuple[str, str]:
    """`same` or `alike`, or the rule by which a picture is not what its photo makes, and in words."""
    file, size = f"{PAYLOAD}{SITE}{picture.path}", (picture.width, picture.height)
    if file not in bag.sizes:
        return "page-missing", "the list has this picture, but it is not here"
    # By the checksum that the bag's file was found to have: the common case, in which no picture is read again.
    if any((one.width, one.height) == size and bag.has(file, one.content) for one in made.encoded):
        return "same", ""
    try:
        shown = _open_shown(bag.read(file, LARGEST_PICTURE), size)
    except Refused as why:
        return "picture-unreadable", why.message
    except MemoryError:
        return "picture-unreadable", "it is too large for a picture of the site"
    if shown is None:
        return "picture-unreadable", "it is not a picture of the size and kind in the list"
    # The largest that is made here: whichever size another program chose is scaled down from it.
    with Image.open(BytesIO(made.encoded[0].content)) as widest:
        return _judge(shown, widest.convert("RGB"))


def _open_shown(content: bytes, size: tuple[int, int]) -> Image.Image | None:
    """A published picture, decoded; None for what is none of ours, or not of this size."""
    try:
        with Image.open(BytesIO(content), formats=[*SUFFIXES]) as image:
            # Nothing is decoded before the size is known to be bearable: opening reads the header alone.
            return image.convert("RGB") if image.size == size and size[0] * size[1] <= LARGEST_SHOWN else None
    except MemoryError:
        raise
    except Exception:  # the decoders raise whatever they like on broken files
        return None


def _judge(shown: Image.Image, made: Image.Image) -> tuple[str, str]:
    """Whether two pictures show the same: of one shape, and alike when both are of the size of the smaller."""
    # Asked before the likeness: scaled to one size, a picture that was cut at its edge could pass.
    shapes = [image.width / image.height for image in (shown, made)]
    if abs(shapes[0] / shapes[1] - 1) > OTHER_SHAPE + 1 / min(*shown.size, *made.size):
        return "picture-differs", "it is a different shape from the photo it is published for"
    size = fit(made.size, max(shown.size)) if max(shown.size) < max(made.size) else made.size
    one, other = (image.resize(size, Image.Resampling.LANCZOS) for image in (shown, made))
    if (far := measure_unlikeness(one, other)) > MOST_UNLIKE:
        message = "it does not show what the photo it is published for shows"
        return (
            "picture-differs",
            f"{message} (they differ by {far} of 255; another encoder differs by no more than {MOST_UNLIKE})",
        )
    return "alike", ""
