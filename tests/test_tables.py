"""kit.tables: what a table may hold, and the one line that says where a fault is and how to mend it."""
import json

import pytest

from kit import tables
from kit.tables import TableError, nearest, source_keys

SCHEMA = {"fields": [
    {"name": "of", "type": "string", "description": "what the number is about", "constraints": {"required": True}},
    {"name": "key", "type": "string", "constraints": {"required": True}},
    {"name": "value", "type": "number", "constraints": {"minimum": 0, "maximum": 20}},
    {"name": "count", "type": "integer"},
    {"name": "grade", "type": "string", "constraints": {"enum": ["find", "trace", "text"]}},
    {"name": "note", "type": "string"}],
    "primaryKey": ["of", "key"]}
HEAD = "of,key,value,count,grade,note\n"


@pytest.fixture
def table(tmp_path):
    """Reads text, or bytes, as a table with the schema above."""
    def read(text):
        path = tmp_path / "metals.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return tables.read(path, SCHEMA)

    return read


@pytest.fixture
def fault(table, tmp_path):
    """The message about such a table, which must be one line, without the folder in front of the file."""
    def said(text):
        with pytest.raises(TableError) as caught:
            table(text)
        message = str(caught.value)
        assert "\n" not in message
        assert message.startswith(str(tmp_path))
        return message.removeprefix(f"{tmp_path}/")

    return said


@pytest.fixture
def reference(tmp_path, monkeypatch):
    """An empty folder in the place of the reference tables."""
    folder = tmp_path / "reference"
    folder.mkdir()
    monkeypatch.setattr(tables, "REFERENCE", folder)
    tables.load.cache_clear()
    yield folder
    tables.load.cache_clear()


def row(**cells):
    """Text of one row after the header; cells not named are empty."""
    return HEAD + ",".join(str(cells.get(name, "")) for name in HEAD.strip().split(",")) + "\n"


# What is read

def test_types_and_empty_cells(table):
    assert table(HEAD + "bronze,density,8.7,3,trace,cast\ntin,density,,,,\n") == [
        {"of": "bronze", "key": "density", "value": 8.7, "count": 3, "grade": "trace", "note": "cast", "line": 2},
        {"of": "tin", "key": "density", "value": None, "count": None, "grade": None, "note": None, "line": 3}]


def test_only_the_header(table):
    assert table(HEAD) == []


def test_columns_in_any_order_and_optional_ones_left_out(table):
    assert table("key,of\ndensity,tin\n")[0] == {
        "of": "tin", "key": "density", "value": None, "count": None, "grade": None, "note": None, "line": 2}


def test_byte_order_mark_and_windows_line_ends(table):
    plain = table(row(of="tin", key="density", value=7.3))
    assert table(b"\xef\xbb\xbf" + row(of="tin", key="density", value=7.3).replace("\n", "\r\n").encode()) == plain


def test_blank_lines_are_skipped_but_counted(table):
    rows = table(HEAD + "\ntin,a,,,,\n\n,,,,,\n  ,,,,,\ntin,b,,,,\n")
    assert [(r["key"], r["line"]) for r in rows] == [("a", 3), ("b", 7)]


def test_spaces_around_cells_and_before_a_quote(table):
    rows = table(HEAD + ' tin , a , 7.3 , , find , "soft, white"\n')
    assert (rows[0]["of"], rows[0]["value"], rows[0]["grade"], rows[0]["note"]) == ("tin", 7.3, "find", "soft, white")


def test_quoted_newline_is_kept_and_later_lines_count_right(table, fault):
    text = HEAD + 'tin,a,1,,,"first\nsecond\nthird"\ntin,b,2,,,\n'
    rows = table(text)
    assert rows[0]["note"] == "first\nsecond\nthird"
    assert [r["line"] for r in rows] == [2, 5]
    assert fault(text + "tin,c,x,,,\n").startswith("metals.csv, line 6, column 'value': ")


@pytest.mark.parametrize("mark", ["\u2028", "\x0b", "\x0c", "\x85", "\x1c"])
def test_other_line_breaks_inside_a_cell_are_only_text(table, mark):
    assert table(row(of="tin", key="a", note=f"one{mark}two"))[0]["note"] == f"one{mark}two"


def test_doubled_and_inner_quotes(table):
    assert table(HEAD + 'tin,a,,,,"the ""soft"" kind"\n')[0]["note"] == 'the "soft" kind'
    assert table(HEAD + 'tin,a,,,,a 1/2" bar\n')[0]["note"] == 'a 1/2" bar'


# What is refused

def test_missing_file(tmp_path):
    with pytest.raises(TableError, match=r"none\.csv: there is no such file; check its name and folder$"):
        tables.read(tmp_path / "none.csv", SCHEMA)


@pytest.mark.parametrize("text", ["", "\n", " \n\n", "\ufeff"])
def test_empty_file(fault, text):
    assert fault(text) == ("metals.csv: the file is empty; its first line must name the columns: "
                           "of, key, value, count, grade, note")


def test_not_utf8(fault):
    assert fault(row(of="tin", key="a", note="geschätzt").encode("latin-1")) == (
        f"metals.csv: not UTF-8 text (byte {len(HEAD) + len('tin,a,,,,gesch')}); save the table as CSV in UTF-8")
    assert "not UTF-8" in fault(HEAD.encode("utf-16"))


def test_wrong_column_names_the_nearest(fault):
    assert fault("of,key,valeu\n") == "metals.csv, line 1: unknown column 'valeu'; did you mean 'value'?"
    assert fault("of,key,zzz\n") == (
        "metals.csv, line 1: unknown column 'zzz'; known: 'of', 'key', 'value', 'count', 'grade', 'note'")


@pytest.mark.parametrize("mark", [";", "\t"])
def test_columns_parted_otherwise(fault, mark):
    assert fault(HEAD.replace(",", mark)).endswith("; part the columns by commas")


def test_missing_required_column(fault):
    assert fault("of,value\ntin,1\n") == "metals.csv, line 1: column 'key' is missing; add it to the first line"


def test_repeated_column(fault):
    assert fault("of,key,value,note,value\n") == (
        "metals.csv, line 1: column 'value' stands twice; keep one of the two")


def test_too_many_and_too_few_cells(fault):
    for text in ("tin,a,1,2,find,soft, white\n", "tin,a,0,5,2,find,\n"):
        assert fault(HEAD + text) == (
            "metals.csv, line 2: 7 cells, but 6 columns; put text that holds a comma in double quotes, "
            "and write the decimal point as a point")
    assert fault(HEAD + "tin,a,,,,\ntin,b,1\n") == (
        "metals.csv, line 3: 3 cells, but 6 columns; an empty cell keeps its comma")


def test_a_quote_left_open_does_not_swallow_the_rows_below(fault):
    text = HEAD + 'tin,a,,,,\ntin,b,,,,"soft\ntin,c,,,,\ntin,d,,,,\n'
    assert fault(text).startswith("metals.csv, line 3: a double quote is not closed")
    assert fault(text + 'tin,e,,,,"hard"\n').startswith("metals.csv, line 3: a double quote is not closed")


def test_decimal_comma(fault):
    assert fault(row(of="tin", key="a", value='"7,3"')) == (
        "metals.csv, line 2, column 'value': '7,3' is not a number; write the decimal point as a point")


@pytest.mark.parametrize(("column", "cell", "said"), [
    ("value", "7.3 mm", "'7.3 mm' is not a number; write the bare number"),
    ("count", "2.5", "'2.5' is not a whole number; write the bare number"),
    ("value", "nan", "'nan' is not a finite number; leave the cell empty where none is known"),
    ("value", "-inf", "'-inf' is not a finite number; leave the cell empty where none is known"),
    ("value", "1e999", "'1e999' is not a finite number; leave the cell empty where none is known"),
    ("value", "-0.1", "-0.1 is beyond the minimum 0; mend the number"),
    ("value", "20.1", "20.1 is beyond the maximum 20; mend the number"),
    ("grade", "trase", "'trase' is not one of its words; did you mean 'trace'?"),
    ("grade", "zzz", "'zzz' is not one of its words; known: 'find', 'trace', 'text'")])
def test_wrong_cell(fault, column, cell, said):
    assert fault(row(of="tin", key="a", **{column: cell})) == f"metals.csv, line 2, column {column!r}: {said}"


def test_bounds_belong_to_the_range(table):
    assert [r["value"] for r in table(HEAD + "tin,a,0,,,\ntin,b,20,,,\n")] == [0, 20]


def test_required_cell_is_empty(fault):
    assert fault(HEAD + "tin,a,,,,\n,a,,,,\n") == (
        "metals.csv, line 3, column 'of': nothing there; what the number is about")
    assert fault(HEAD + "tin, ,,,,\n") == "metals.csv, line 2, column 'key': nothing there; a value is needed"


def test_repeated_key(fault, table):
    assert fault(HEAD + "tin,a,,,,\ntin,b,,,,\ntin,a,1,,,\n") == (
        "metals.csv, line 4: tin / a stands already in line 2; keep one of the two")
    assert len(table(HEAD + "tin,a,,,,\nlead,a,,,,\n")) == 2


def test_without_a_key_rows_may_repeat(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("key\na\na\n")
    assert len(tables.read(path, {"fields": [{"name": "key", "type": "string"}]})) == 2


# Nearest words

def test_nearest():
    assert nearest("lenght", ["length", "gap"]) == "did you mean 'length'?"
    assert nearest("half-hard bronze", ["tin bronze, annealed", "iron"]) == "did you mean 'tin bronze, annealed'?"
    assert nearest("xyz", ["length", "gap"]) == "known: 'length', 'gap'"
    assert nearest("gap", {"gap 1": 0, "gap": 1, "wall": 2}) == "did you mean 'gap' or 'gap 1'?"


@pytest.mark.parametrize("length, told", [(199, "x" * 199), (200, "x" * 120 + "…" + "x" * 60), (5000, "x" * 120 + "…" + "x" * 60)])
def test_a_fault_says_a_very_long_word_in_short(length, told):
    assert str(TableError(f"a.csv, line 3: no {'x' * length} here")) == f"a.csv, line 3: no {told} here"


def test_of_very_many_names_the_first_are_offered():
    names = [f"n{i}" for i in range(30)]
    assert nearest("zzz", names[:24]) == "known: " + ", ".join(map(repr, names[:24]))
    assert nearest("zzz", names) == "known: " + ", ".join(map(repr, names[:24])) + " and 6 more"


@pytest.mark.parametrize("sign", ["\x00", "\x1b", "\x7f", "\u202e"])
def test_a_sign_that_nobody_sees_is_named(fault, sign):
    assert fault(row(of="tin", key="a", note=f"an{sign}neal")) == (
        f"metals.csv, line 2, column 'note': its character 3 is a sign that cannot be seen (U+{ord(sign):04X}); take it out")


# Packages of tables

def package_fault(folder):
    with pytest.raises(TableError) as caught:
        tables.package(folder)
    assert "\n" not in str(caught.value)
    return str(caught.value).removeprefix(f"{folder}/")


def test_missing_package(tmp_path):
    assert package_fault(tmp_path) == "datapackage.json: there is no such file; copy the one of the demo study"


def test_broken_package_says_the_line(tmp_path):
    (tmp_path / "datapackage.json").write_text('{"name": "x",\n "resources": [\n  {"name": "a" "path": "a.csv"}]}')
    assert package_fault(tmp_path) == (
        "datapackage.json, line 3: not JSON as it stands; mend it there or just above")


@pytest.mark.parametrize("described", [{}, [], {"resources": [{"name": "a", "path": "a.csv"}]}, {"resources": ["a"]}])
def test_package_without_its_parts(tmp_path, described):
    (tmp_path / "datapackage.json").write_text(json.dumps(described))
    assert package_fault(tmp_path) == (
        "datapackage.json: it must list `resources`, each with name, path and schema, "
        "as the one of the demo study does")


def describe(folder, schema):
    resources = [{"name": "metals", "path": "metals.csv", "schema": schema}]
    (folder / "datapackage.json").write_text(json.dumps({"resources": resources}), encoding="utf-8-sig")


def test_schema_inside_beside_or_beside_the_reference_tables(tmp_path, reference):
    describe(tmp_path, SCHEMA)
    assert tables.package(tmp_path) == {"metals": (tmp_path / "metals.csv", SCHEMA)}
    describe(tmp_path, "s.json")
    assert package_fault(tmp_path) == "s.json: there is no such file; copy the one of the demo study"
    (reference / "s.json").write_text('{"fields": []}')
    assert tables.package(tmp_path)["metals"][1] == {"fields": []}
    (tmp_path / "s.json").write_text(json.dumps(SCHEMA))   # the nearer one wins
    assert tables.package(tmp_path)["metals"][1] == SCHEMA
    (tmp_path / "s.json").write_text("{\n,}")
    assert package_fault(tmp_path).startswith("s.json, line 2: not JSON")


def test_load_and_rows_of(reference):
    describe(reference, SCHEMA)
    (reference / "metals.csv").write_text(HEAD + "tin bronze,density,8.7,,,\nlead,density,11.3,,,\n")
    assert [r["value"] for r in tables.load("metals")] == [8.7, 11.3]
    assert [r["value"] for r in tables.rows_of("metals", "lead")] == [11.3]
    with pytest.raises(TableError, match=r"no reference table 'metal'; did you mean 'metals'\?$"):
        tables.load("metal")
    with pytest.raises(TableError, match=r"'metals' has nothing on 'tin bronz'; did you mean 'tin bronze'\?$"):
        tables.rows_of("metals", "tin bronz")


def test_schemas_hold_no_rule_that_nobody_checks():
    described = [json.loads(path.read_text(encoding="utf-8")) for path in tables.DATA.rglob("*.json")]
    schemas = [d for d in described if "fields" in d]
    schemas += [r["schema"] for d in described for r in d.get("resources", ()) if isinstance(r["schema"], dict)]
    assert schemas
    for schema in schemas:
        assert schema.get("missingValues", [""]) == [""] and set(schema) <= {"fields", "primaryKey", "missingValues"}
        assert isinstance(schema.get("primaryKey", []), list)
        for field in schema["fields"]:
            assert field["type"] in ("string", "number", "integer", "date"), field
            assert set(field.get("constraints", {})) <= {"required", "minimum", "maximum", "enum"}, field
            assert set(field) <= {"name", "type", "description", "title", "constraints"}, field


# Sources

def test_source_keys(tmp_path):
    path = tmp_path / "sources.bib"
    path.write_text("@book{brown1990,\n title={An @example{of, text}}}\n  @Article { smith_2001 ,\n year=2001}\n")
    assert source_keys(path) == {"brown1990", "smith_2001"}
    with pytest.raises(TableError, match=r"none\.bib: there is no such file; an empty one will do"):
        source_keys(tmp_path / "none.bib")
