"""Links the terms of the glossary in the notebooks' prose anew, and writes its entries into page 13: due when a test says so."""
from pathlib import Path

import nbformat

from kit import tables, terms

NOTEBOOKS = Path(__file__).parents[1] / "notebooks"
LIST = "## The whole list"


def relinked(notebook):
    """The sources of a notebook's words as they are to stand; of the glossary's page, its cells."""
    seen = set()
    return [terms.linked(terms.bare(cell.source), seen) if cell.cell_type == "markdown" else cell.source for cell in notebook.cells]


def listed(notebook):
    """The cells of the glossary's page, with its entries as the table has them."""
    first = next(place for place, cell in enumerate(notebook.cells) if cell.source.startswith(LIST)) + 1
    rest = [cell for cell in notebook.cells[first:] if len(cell.id) != 2]   # whose names are not those of entries
    return [*notebook.cells[:first], *(nbformat.v4.new_markdown_cell(text, id=name) for name, text in terms.entries().items()), *rest]


if __name__ == "__main__":
    for path in sorted(NOTEBOOKS.glob("*.ipynb")):
        notebook = nbformat.read(path, 4)
        if path.stem == terms.PAGE:
            notebook.cells = listed(notebook)
        else:
            for cell, source in zip(notebook.cells, relinked(notebook), strict=True):
                cell.source = source
        print(tables.put(path, nbformat.writes(notebook) + "\n"))
