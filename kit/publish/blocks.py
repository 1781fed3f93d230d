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


@dataclass(frozen=True)
class Formula:
    """A formula on a line of its own. tex: in TeX. alt: the same in words, for those who have it read to them."""
    tex: str
    alt: str


@dataclass(frozen=True)
class Upright:
    """From here on, pages that were turned for wide tables stand upright."""


@dataclass(frozen=True)
class References:
    """Where the list of references stands: of what the document cites."""


@dataclass(frozen=True, eq=False)
class Table:
    """frame: pandas DataFrame of text and numbers, an index of words as its first column. name: for links."""
    frame: object
    caption: str
    name: str


@dataclass(frozen=True, eq=False)
class Picture:
    """figure: matplotlib Figure, as wide as it is to be printed. alt: what it shows, for those who cannot see it.
    name: for links, and of the file that LaTeX and Markdown point to. printed: gives the bytes by format ("svg"),
    where they are drawn already; None to draw the figure."""
    figure: object
    caption: str
    alt: str
    name: str
    printed: object = None

    @property
    def width(self):
        """mm"""
        return self.figure.get_figwidth() * 25.4

    def bytes_of(self, end):
        from kit.publish import page
        return self.printed(end) if self.printed else page.printed(self.figure, end, self.alt)


def checked(blocks):
    """The blocks, with headings that go down one level at a time, as those need who have a page read to them.

    Raises TypeError for what is no block, ValueError for a picture or formula without words, no name, or a name used
    twice.
    """
    sound, level, names = [], 0, set()
    for block in blocks:
        if isinstance(block, Heading):
            if not one_line(block.text):   # which a reader could not jump to
                continue
            level = min(max(block.level, 1), level + 1, 4)
            block = Heading(block.text, level)
        elif isinstance(block, (Table, Picture)):
            if not one_line(block.name):
                raise ValueError(f"the block captioned {block.caption!r} has no name; give it one, such as 'margins'")
            if anchor(block.name) in names:
                raise ValueError(f"two blocks are called {block.name!r}; give each its own name, because links use it")
            names.add(anchor(block.name))
        elif not isinstance(block, (Paragraph, Bullets, Note, Formula, References, Upright)):
            raise TypeError(f"{block!r} is no block; a document is made of Heading, Paragraph, Bullets, Table, "
                            "Picture, Formula, References and Note")
        if isinstance(block, (Picture, Formula)) and not one_line(block.alt):
            called = f"picture {block.name!r}" if isinstance(block, Picture) else f"formula {block.tex!r}"
            raise ValueError(f"{called} has no alt text; say in a sentence what it shows, for those who cannot see it")
        sound.append(block)
    return sound


def anchor(name):
    """A block's name as links use it."""
    return re.sub(r"\s", "-", one_line(name))
