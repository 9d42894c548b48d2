"""Great Expectations with no more of it loaded than a check of a table in memory takes: a third of the time.

Two things are kept out, and nothing of what checks is replaced:

- The library's packages gather names from all their modules: every kind of data source, expectation and metric, the
  pages and the notices of results. In those listed here such names are looked up when they are used, and what is not
  used is not loaded.
- Other libraries that it loads at once, to talk to servers or to draw, are stood in for by names that refuse any use.

A part that turns out to be needed after all, in another version of the library, makes the check fail, and
``analyzer.contract.check`` asks a process that has the whole library.
"""

from __future__ import annotations

import ast
import importlib
import sys
import types
from importlib.machinery import ModuleSpec, PathFinder, SourceFileLoader

_LIBRARY = "great_expectations"
_GATHERING = {
    f"{_LIBRARY}.{package}"
    for package in (
        "checkpoint", "datasource.fluent", "expectations", "expectations.core", "metrics", "render", "render.renderer",
        "render.view", *(
            f"expectations.metrics.{kind}"
            for kind in (
                "column_aggregate_metrics", "column_map_metrics", "column_pair_map_metrics", "multicolumn_map_metrics",
                "query_metrics", "table_metrics",
            )
        ),
    )
}  # fmt: skip
_NEVER_CALLED = {"requests"}
_MISSED_BY_NONE = {"pyarrow"}  # the table library makes do without it

# What the suite asks for; a metric is known to the library once its module is loaded.
_NEEDED = (
    "datasource.fluent.pandas_datasource",
    "expectations.core.expect_column_max_to_be_between",
    "expectations.core.expect_column_min_to_be_between",
    "expectations.core.expect_column_values_to_be_in_set",
    "expectations.core.expect_column_values_to_be_of_type",
    "expectations.core.expect_column_values_to_not_be_null",
    "expectations.core.expect_table_columns_to_match_ordered_list",
    "expectations.core.expect_table_row_count_to_be_between",
    "expectations.metrics.column_aggregate_metrics.column_max",
    "expectations.metrics.column_aggregate_metrics.column_min",
    "expectations.metrics.column_map_metrics.column_values_in_set",
    "expectations.metrics.column_map_metrics.column_values_non_null",
    "expectations.metrics.column_map_metrics.column_values_of_type",
    "expectations.metrics.table_metrics.table_column_types",
    "expectations.metrics.table_metrics.table_columns",
    "expectations.metrics.table_metrics.table_row_count",
)


def load() -> None:
    """Load what the suite needs of the library, and nothing else; for a process that does nothing but check."""
    sys.modules.update(dict.fromkeys(_MISSED_BY_NONE))  # type: ignore[arg-type]  # None is how Python says absent
    sys.meta_path[:0] = [_Gathering(), _NeverCalled()]
    for module in ("", *_NEEDED):
        importlib.import_module(f"{_LIBRARY}.{module}".rstrip("."))


class _Gathering:
    """Finds the packages that gather names from their modules, and has the names looked up on use."""

    def find_spec(self, name, path=None, target=None):
        spec = PathFinder.find_spec(name, path) if name in _GATHERING else None
        if spec is not None and isinstance(spec.loader, SourceFileLoader):
            spec.loader = _OnUse(name, spec.loader.path)
        return spec


class _OnUse(SourceFileLoader):
    """Runs a package's file but for the imports whose names nothing else in it uses; those are done on use."""

    def exec_module(self, module: types.ModuleType) -> None:
        tree = ast.parse(self.get_data(self.path))
        used = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
        later = [node for node in tree.body if isinstance(node, ast.ImportFrom) and _gathers(node, used)]
        home = {
            alias.asname or alias.name: (f"{'.' * node.level}{node.module}", alias.name)
            for node in later
            for alias in node.names
        }

        def look_up(name: str):
            if name not in home:
                raise AttributeError(f"module {module.__name__!r} has no attribute {name!r}")
            place, there = home[name]
            found = getattr(importlib.import_module(place, module.__name__), there)
            setattr(module, name, found)
            return found

        module.__dict__["__getattr__"] = look_up
        tree.body = [node for node in tree.body if node not in later]
        exec(compile(tree, self.path, "exec", dont_inherit=True), module.__dict__)


def _gathers(node: ast.ImportFrom, used: set[str]) -> bool:
    """Tell whether an import only takes names from a module of the library, for others to find here."""
    if node.module is None:
        return False
    names = {alias.asname or alias.name for alias in node.names}
    return (node.level > 0 or node.module.startswith(f"{_LIBRARY}.")) and not names & (used | {"*"})


class _NeverCalled:
    """Finds what nobody calls in a check, and stands in for it: a module of names that refuse any use."""

    def find_spec(self, name, path=None, target=None):
        return ModuleSpec(name, self, is_package=True) if name.partition(".")[0] in _NEVER_CALLED else None

    def create_module(self, spec: ModuleSpec) -> types.ModuleType:
        return _StandIn(spec.name)

    def exec_module(self, module: types.ModuleType) -> None:
        pass


class _StandIn(types.ModuleType):
    def __getattr__(self, name: str):
        if name.startswith("__"):
            raise AttributeError(name)
        setattr(self, name, type(name, (_Refusing,), {"__module__": self.__name__}))
        return getattr(self, name)


class _Refusing:
    """A class to be named, and never to be made one of."""

    def __new__(cls, *_, **__):
        raise NotImplementedError(f"{cls.__module__}.{cls.__name__} was kept out")
