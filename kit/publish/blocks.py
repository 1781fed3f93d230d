"""The blocks that a document is made of, and what is asked of them before it is set."""
import re
from dataclasses import dataclass

from kit.publish.tabular import one_line


@dataclass(frozen=True)
class Heading:
    """A heading below the title: level 1 for a section, 2 to 4 for what is inside it."""
    text: str
    level: int = 1


@dataclass(frozen=True)
class Paragraph:
    text: str


@dataclass(frozen=True)
class Bullets:
    items: tuple


@dataclass(frozen=True)
class Note:
    """A caution, set apart from the text."""
    text: str


@dataclass(frozen=True, eq=False)
class Table:
    """frame: pandas DataFrame of text and numbers, an index of words as its first column. name: for links."""
    frame: object
    caption: str
    name: str


@dataclass(frozen=True, eq=False)
class Picture:
    """figure: matplotlib Figure, as wide as it is to be printed. alt: what it shows, for those who cannot see it.
    name: for links, and of the file that Markdown points to (name.svg)."""
    figure: object
    caption: str
    alt: str
    name: str


def checked(blocks):
    """The blocks, with headings that go down one level at a time, as those need who have a page read to them.

    Raises TypeError for what is no block, ValueError for a picture without words, no name, or a name used twice.
    """
    sound, level, names = [], 0, set()
    for block in blocks:
        if isinstance(block, Heading):
            level = min(max(block.level, 1), level + 1, 4)
            block = Heading(block.text, level)
        elif isinstance(block, (Table, Picture)):
            if not one_line(block.name):
                raise ValueError(f"the block captioned {block.caption!r} has no name; give it one, such as 'margins'")
            if anchor(block.name) in names:
                raise ValueError(f"two blocks are called {block.name!r}; give each its own name, because links use it")
            if isinstance(block, Picture) and not one_line(block.alt):
                raise ValueError(f"picture {block.name!r} has no alt text; say in a sentence what it shows, for those "
                                 "who cannot see it")
            names.add(anchor(block.name))
        elif not isinstance(block, (Paragraph, Bullets, Note)):
            raise TypeError(f"{block!r} is no block; a document is made of Heading, Paragraph, Bullets, Table, Picture "
                            "and Note")
        sound.append(block)
    return sound


def anchor(name):
    """A block's name as links use it."""
    return re.sub(r"\s", "-", one_line(name))
