"""The house: imports run one way, files stay short, nothing strange stands at the top, the command starts light."""

import ast
import importlib
import subprocess
import sys
from fnmatch import fnmatch
from functools import cache
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

TOP = Path(__file__).resolve().parents[1]
PACKAGE = TOP / "analyzer"
MOST_LINES = 400
PUBLIC_FACE = "__init__"  # of the package: it hands out names of the rooms

# The rooms from left to right: each may import only from rows above its own. Rooms of one row know nothing of each
# other. A new room is written in here, where data reaches it.
ROOMS = (
    ("errors", "call", "places", "interrupts", "inputs", "formulas", "memory", "faces"),
    ("own_files", "temporary"),
    ("stores", "crew", "progress"),
    ("staging",),
    ("command",),
    ("quantities", "airside", "ventilation", "validation"),
    ("site",),
    ("ledger",),
    ("trends",),
    ("dataset",),
    ("intake",),
    ("schedule",),
    ("contract",),
    ("signals",),
    ("engine",),
    ("findings",),
    ("report", "request", "normalized", "window_asked", "rule_pages", "rule_start", "demo"),
    ("judged", "checklist", "draft"),
    ("exports_kept", "functional"),
    ("handover", "trend_store"),
    ("reviews",),
    (PUBLIC_FACE,),
    ("rounds", "complaint", "evidence", "cluster"),
    ("cli_options",),
    ("cli_before", "cli_later"),
    ("cli",),
    ("__main__",),
)
ROW = {room: row for row, rooms in enumerate(ROOMS) for room in rooms}
# The rooms of intake, in the same way: an export runs through them from left to right.
INTAKE = PACKAGE / "intake"
INTAKE_ROOMS = (
    ("limits", "ahead"),
    ("words",),
    ("files",),
    ("tables",),
    ("points",),
    ("values",),
    ("grid",),
    ("opened",),
    ("reading",),
    (PUBLIC_FACE,),
)

AT_THE_TOP = {
    "README.md",
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "LICENSE",
    "pyproject.toml",
    "analyzer",
    "rules",
    "sample_trends",
    "tests",
    "docs",
    ".ci",
    ".gitignore",
}
LOCK_FILES = {"requirements.lock", "pylock.toml", "uv.lock"}

HEAVY = {"pandas", "numpy", "pyarrow", "altair", "great_expectations", "openpyxl", "jinja2", "pydantic"}
# What only some calls need: imported where it is used, never at the top of a file but of its own one.
OWN = {
    "report/charts.py": {"altair"},
    "report/frame.py": {"jinja2"},
    "contract/suite.py": {"great_expectations"},
}
LATE = {"altair", "great_expectations", "openpyxl", "jinja2", "dask", "distributed", "fsspec"}


@cache
def parsed(source: str) -> ast.Module:
    """Return the tree of a source; most are asked for many times."""
    return ast.parse(source)


def room_of(file: Path, package: Path = PACKAGE) -> str:
    """Return the room in which a file stands."""
    return file.relative_to(package).parts[0].removesuffix(".py")


def _name(file: Path) -> str:
    return file.relative_to(PACKAGE).as_posix()


FILES = sorted(PACKAGE.rglob("*.py"))
EVERY_FILE = pytest.mark.parametrize("file", FILES, ids=_name)


def imported_modules(source: str, file: Path, package: Path = PACKAGE, divided: str = "analyzer") -> set[str]:
    """Return what a source imports anywhere in it, function bodies and type-checking blocks included.

    Parameters
    ----------
    divided : str
        The package whose own names are told apart: of others the package stands for all that it hands out.
    """
    modules = set()
    here = ["analyzer", *file.relative_to(package).with_suffix("").parts]
    for node in ast.walk(parsed(source)):
        if isinstance(node, ast.Import):
            modules |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            start = here[: -node.level] if node.level else []
            whole = ".".join([*start, *([node.module] if node.module else [])])
            modules |= {f"{whole}.{alias.name}" for alias in node.names} if whole == divided else {whole}
    return modules


def imported_rooms(source: str, file: Path, package: Path = PACKAGE) -> set[str]:
    """Return the rooms that a source imports."""
    modules = imported_modules(source, file, package)
    rooms = {module.split(".")[1] for module in modules if module.startswith("analyzer.")}
    known = {*ROW, *(room_of(found, package) for found in FILES)}
    return {room if room in known else PUBLIC_FACE for room in rooms}


def wrong_way(source: str, file: Path, package: Path = PACKAGE) -> set[str]:
    """Return the rooms that a source imports and must not."""
    room = room_of(file, package)
    allowed = {room} | {other for other, row in ROW.items() if row < ROW.get(room, 0)}
    return imported_rooms(source, file, package) - allowed


@EVERY_FILE
def test_every_room_has_its_place_in_the_order(file):
    assert room_of(file) in ROW, f"write {room_of(file)!r} into ROOMS, where data reaches it"


@EVERY_FILE
def test_imports_run_one_way(file):
    assert wrong_way(file.read_text(encoding="utf-8"), file) == set()


@pytest.mark.parametrize(
    ("source", "wrong"),
    [
        ("from analyzer.engine import judge", {"engine"}),
        ("import analyzer.engine.judge", {"engine"}),
        ("from analyzer import cli, trends", {"cli"}),
        ("def late():\n    from analyzer.reviews import review", {"reviews"}),
        ("from analyzer import read_trends", {PUBLIC_FACE}),
        ("from ..report import pages", {"report"}),
        ("from .. import report", {"report"}),
        ("from . import scene\nfrom .scene import Scene\nfrom analyzer.signals.fans import x", set()),
        ("import numpy\nfrom analyzer.site import Site\nfrom analyzer.errors import UserError", set()),
    ],
)
def test_an_import_against_the_stream_is_seen(source, wrong):
    assert wrong_way(source, PACKAGE / "signals" / "invented.py") == wrong


# Rooms with a face: others ask the room itself for a name, and not one of its modules.
FACES = ("engine", "findings", "report")
# What has the name of its module cannot be had from the room.
AS_ITS_MODULE = {"analyzer.report.trend_box"}


def past_the_face(source: str, file: Path) -> set[str]:
    """Return the modules inside a room with a face that a source imports from, and must not."""
    inside = {name for name in imported_modules(source, file) if name.split(".")[1:2] and name.count(".") > 1}
    return {name for name in inside if name.split(".")[1] in {*FACES} - {room_of(file)}} - AS_ITS_MODULE


@EVERY_FILE
def test_a_room_with_a_face_is_asked_for_names_and_not_its_modules(file):
    assert past_the_face(file.read_text(encoding="utf-8"), file) == set()


def test_a_way_past_the_face_would_be_seen():
    source = "from analyzer.engine import Rule\ndef late():\n    from analyzer.engine.rule import Rule"
    assert past_the_face(source, PACKAGE / "reviews.py") == {"analyzer.engine.rule"}
    assert past_the_face(source, PACKAGE / "engine" / "judge.py") == set()


@pytest.mark.parametrize("room", FACES)
def test_a_face_lists_what_others_ask_for_and_no_more(room):
    face = importlib.import_module(f"analyzer.{room}")
    asked = set()
    for file in FILES:
        if room_of(file) != room:
            for node in ast.walk(parsed(file.read_text(encoding="utf-8"))):
                if isinstance(node, ast.ImportFrom) and node.module == f"analyzer.{room}":
                    asked |= {alias.name for alias in node.names}
    handed = {(module, name) for module, names in face.INSIDE.items() for name in names}
    of_its_own = {*face.__all__} - {name for _, name in handed}
    assert {name for _, name in handed} <= asked <= {*face.__all__}
    assert all(hasattr(face, name) for name in face.__all__) and of_its_own <= vars(face).keys()
    told = [
        node for node in ast.walk(parsed(Path(face.__file__).read_text(encoding="utf-8"))) if isinstance(node, ast.If)
    ]
    for_types = {(line.module.rpartition(".")[2], alias.name) for line in told[0].body for alias in line.names}
    assert for_types == handed, "what is told to the type checker is what is handed out"


def test_a_face_has_no_other_names():
    with pytest.raises(AttributeError, match=r"module 'analyzer\.engine' has no attribute 'Ruler'"):
        importlib.import_module("analyzer.engine").Ruler  # noqa: B018


def intake_room_of(file: Path) -> str:
    """Return the room of intake in which a file stands."""
    return room_of(file, INTAKE)


def wrong_way_in_intake(source: str, file: Path) -> set[str]:
    """Return the rooms of intake that a source in it imports and must not."""
    row = {room: row for row, rooms in enumerate(INTAKE_ROOMS) for room in rooms}
    inside = imported_modules(source, file, divided="analyzer.intake")
    rooms = {(module.split(".") + [PUBLIC_FACE])[2] for module in inside if module.startswith("analyzer.intake")}
    rooms = {room if room in row else PUBLIC_FACE for room in rooms}
    own = intake_room_of(file)
    return {room for room in rooms if room != own and row[room] >= row.get(own, 0)}


INTAKE_FILES = pytest.mark.parametrize("file", sorted(INTAKE.rglob("*.py")), ids=_name)


@INTAKE_FILES
def test_every_room_of_intake_has_its_place(file):
    assert intake_room_of(file) in {room for rooms in INTAKE_ROOMS for room in rooms}


@INTAKE_FILES
def test_imports_within_intake_run_one_way(file):
    assert wrong_way_in_intake(file.read_text(encoding="utf-8"), file) == set()


@pytest.mark.parametrize(
    ("source", "wrong"),
    [
        ("from analyzer.intake.points.point import Point", {"points"}),
        ("def late():\n    from analyzer.intake.grid import rows", {"grid"}),
        ("if TYPE_CHECKING:\n    from analyzer.intake.reading import Survey", {"reading"}),
        ("from analyzer.intake import read_exports", {PUBLIC_FACE}),
        ("from ..values import told", {"values"}),
        ("from analyzer.intake import limits\nfrom analyzer.intake.words.names import tokens_of", set()),
        ("from analyzer.intake.tables.coded import codes\nfrom analyzer.site import Site", set()),
    ],
)
def test_an_import_against_the_stream_within_intake_is_seen(source, wrong):
    assert wrong_way_in_intake(source, INTAKE / "tables" / "invented.py") == wrong


def test_no_modules_of_intake_import_each_other_in_a_circle_even_later():
    names = {_module(file): file for file in INTAKE.rglob("*.py") if file != INTAKE / "__init__.py"}
    imports = {name: _intake_imports(file.read_text(encoding="utf-8"), file) for name, file in names.items()}
    assert _circle({name: (found & names.keys()) - {name} for name, found in imports.items()}) == []


def _intake_imports(source: str, file: Path) -> set[str]:
    """Return what a file of intake imports, and each name as a module of its own in case it is one."""
    found = imported_modules(source, file, divided="analyzer.intake")
    rooms = {f"analyzer.intake.{room}" for rooms in INTAKE_ROOMS for room in rooms}
    return found.union(*(imported_modules(source, file, divided=room) for room in rooms & found))


# What changes an object where it stands, beside an assignment.
CHANGING = {"append", "extend", "insert", "add", "update", "setdefault", "pop", "clear", "remove"}


@cache
def attributes_of_classes(source: str) -> set[str]:
    """Return the attributes that the classes of a source have."""
    found = set()
    for kind in (node for node in ast.walk(parsed(source)) if isinstance(node, ast.ClassDef)):
        found |= {line.target.id for line in kind.body if isinstance(line, ast.AnnAssign)}
        found |= {node.attr for node in ast.walk(kind) if isinstance(node, ast.Attribute) and _of_self(node)}
    return found


def changed_from_outside(source: str) -> set[str]:
    """Return the attributes that a source changes of objects other than ``self``."""
    changed = []
    for node in ast.walk(parsed(source)):
        if isinstance(node, ast.Assign):
            changed += [each for target in node.targets for each in getattr(target, "elts", [target])]
        elif isinstance(node, ast.AugAssign | ast.AnnAssign):
            changed.append(node.target)
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in CHANGING:
            changed.append(node.func.value)
    found = set()
    for target in changed:
        while isinstance(target, ast.Subscript):
            target = target.value
        if isinstance(target, ast.Attribute) and not _of_self(target):
            found.add(target.attr)
    return found


def _of_self(node: ast.Attribute) -> bool:
    return isinstance(node.value, ast.Name) and node.value.id == "self"


@INTAKE_FILES
def test_an_object_of_intake_is_changed_by_its_own_module_alone(file):
    source = file.read_text(encoding="utf-8")
    owned = set().union(*(attributes_of_classes(other.read_text(encoding="utf-8")) for other in INTAKE.rglob("*.py")))
    assert (changed_from_outside(source) & owned) - attributes_of_classes(source) == set(), "let its class do it"


def test_a_change_from_outside_would_be_seen():
    source = "point.unit = 1\npoint.tag, other.why = 2, 3\ntable.units[0] += 1\ntable.names.append(4)\nself.own = x.y"
    assert changed_from_outside(source) == {"unit", "tag", "why", "units", "names"}
    assert attributes_of_classes("class A:\n    a: int\n    def b(self):\n        self.c = 1") == {"a", "c"}


def imported_at_once(source: str, module: str) -> set[str]:
    """Return the modules that a source imports as soon as it is imported itself, by their whole names."""
    found: set[str] = set()
    for node in parsed(source).body:  # what stands in a function or under a condition comes later, or not at all
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            parts = module.split(".")
            start = ".".join([*parts[: len(parts) - node.level], *([node.module] if node.module else [])])
            whole = start if node.level else node.module
            inside = {f"{whole}.{alias.name}" for alias in node.names} & MODULES.keys()
            found |= inside if len(inside) == len(node.names) else {whole, *inside}
    return found


def _module(file: Path) -> str:
    parts = ["analyzer", *file.relative_to(PACKAGE).with_suffix("").parts]
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {_module(file): file for file in FILES}


def circle(sources: dict[str, str]) -> list[str]:
    """Return modules that import each other in a circle, the first again at the end; nothing where there is none."""
    return _circle({name: imported_at_once(source, name) - {name} for name, source in sources.items()})


def _circle(imports: dict[str, set[str]]) -> list[str]:
    try:
        TopologicalSorter(imports).prepare()
    except CycleError as error:
        return error.args[1]
    return []


def test_no_modules_import_each_other_in_a_circle():
    assert circle({name: file.read_text(encoding="utf-8") for name, file in MODULES.items()}) == []


def test_a_circle_would_be_seen_and_a_later_import_is_none():
    there, back = "from analyzer.site import model", "from analyzer import errors"
    assert circle({"analyzer.errors": there, "analyzer.site.model": back})
    assert not circle({"analyzer.errors": f"def late():\n    {there}", "analyzer.site.model": back})


@EVERY_FILE
def test_what_few_calls_need_is_imported_where_it_is_used(file):
    at_once = {name.split(".")[0] for name in imported_at_once(file.read_text(encoding="utf-8"), _module(file))}
    assert at_once & LATE == OWN.get(_name(file), set()), "import it in the function that uses it"


@EVERY_FILE
def test_no_file_is_too_long(file):
    lines = len(file.read_text(encoding="utf-8").splitlines())
    assert lines <= MOST_LINES, f"{lines} lines: split it by topic"


def test_nothing_else_stands_at_the_top():
    ignored = [line.strip("/") for line in (TOP / ".gitignore").read_text().split() if not line.startswith("#")]
    found = {entry.name for entry in TOP.iterdir()} - {".git"}
    kept = {name for name in found if not any(fnmatch(name, pattern) for pattern in ignored)}
    assert kept - AT_THE_TOP - LOCK_FILES == set()
    assert len(kept & LOCK_FILES) <= 1


def _modules_after(code: str) -> set[str]:
    """Return the top-level names of all modules that a fresh interpreter has loaded after running some code."""
    told = "import sys; print('\\n' + ' '.join(sorted({name.split('.')[0] for name in sys.modules})))"
    run = subprocess.run(
        [sys.executable, "-c", f"{code}\n{told}"], capture_output=True, text=True, cwd=TOP, check=True, timeout=60
    )
    return set(run.stdout.splitlines()[-1].split())


HELP = """
import sys
from analyzer.cli import main
sys.argv = ["trendwright", "--help"]
try:
    main()
except SystemExit as leaving:
    assert not leaving.code
"""


@pytest.mark.skipif(not (PACKAGE / "cli.py").exists(), reason="there is no command yet")
def test_the_command_shows_its_help_without_a_heavy_import():
    assert _modules_after(HELP) & HEAVY == set()


def test_the_package_itself_imports_nothing_heavy():
    assert _modules_after("import analyzer") & HEAVY == set()


def test_a_heavy_import_would_be_seen():
    assert "numpy" in _modules_after("import analyzer.airside")
