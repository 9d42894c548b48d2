"""What the chart of a rule shows: its first labelled fault case, judged, as lines, limits and the fault's hours."""

from __future__ import annotations

import ast
from dataclasses import dataclass, field

import numpy as np

from analyzer.engine.building import judge_building
from analyzer.engine.expressions import Expression
from analyzer.engine.rule import AIR_HANDLER as JUDGES_AIR_HANDLERS
from analyzer.engine.rule import Rule
from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from analyzer.quantities import AIR_HANDLER, TERMINAL, shown_unit, to_shown
from analyzer.report.thinning import kept_samples
from analyzer.signals import SIGNALS, Scene
from tests.rules.case_trends import AIR_HANDLER_TAG, FOLDER, START, TERMINAL_TAG, Case, cases_of, site_of, trends_of

MOST_SAMPLES = 240  # a line of a chart this small shows no more
MOST_COMPARED = 2  # panels for what the rule compares, beyond the trends
MOST_TURNS = 60  # of a line; a faster one is shown for a part of the time
PANELS = ("temperature", "flow", "percent", "concentration", "pressure", "fraction", "state")


@dataclass
class Line:
    """One line: values over hours since the first midnight; NaN breaks it. A limit is drawn dashed."""

    name: str
    hours: np.ndarray
    values: np.ndarray
    limit: bool = False


@dataclass
class Panel:
    """Lines of one unit over the same hours."""

    title: str
    unit: str
    state: bool = False
    lines: list[Line] = field(default_factory=list)


@dataclass
class Figure:
    """The panels of one case, the hours shown, and the fault's hours."""

    case: str
    panels: list[Panel]
    span: tuple[float, float]
    episodes: list[tuple[float, float]]


def fault_case(rule: str) -> Case:
    """Return the first labelled case of a rule that is a fault."""
    return next(case for case in cases_of(FOLDER / f"{rule}.toml") if case.told["expect"] == "fault")


def figure_of(name: str) -> Figure:
    """Judge the fault case of a rule and gather what its chart shows.

    Raises
    ------
    ValueError
        The case is not judged a fault: there is nothing to show.
    """
    case = fault_case(name)
    site = site_of(case)
    book = read_rules([rule_book()], site)
    rules = {id_: book[id_] for id_ in (case.told.get("by"), name) if id_}
    scene = Scene(trends_of(case), site)
    judgement = judge_building(scene, rules)
    rule, judged, tag = book[name], judgement.terminals, TERMINAL_TAG
    if JUDGES_AIR_HANDLERS in rule.applies_to:
        scene, judged, tag = judgement.common.scene, judgement.common.judgement, AIR_HANDLER_TAG
    at = list(scene.terminals).index(tag)
    episodes = judged.episodes[name]
    mine = episodes.terminal == at
    if not mine.any():
        raise ValueError(f"{case} shows no fault")
    start = START.timestamp()
    found = [
        ((a - start) / 3600, (b - start) / 3600) for a, b in zip(episodes.start[mine], episodes.end[mine], strict=True)
    ]
    view = _View(scene, rule, at)
    panels = _trend_panels(view, case)
    _add_comparisons(panels, view, np.isin(view.rows, episodes.row))
    if not any(panel.lines for panel in panels.values()):  # nothing is held against a limit: the points themselves
        for point in case.told["air_handler"]:
            _draw(panels, view, AIR_HANDLER[point], scene.air_handler(point)[view.rows])
    shown = [panel for panel in panels.values() if panel.lines]
    span = _span(shown, view.hours, found)
    for panel in shown:
        panel.lines = [_within(line, span) for line in panel.lines]
    return Figure(case.told["name"], shown, span, found)


class _View:
    """One terminal's rows of a scene."""

    def __init__(self, scene: Scene, rule: Rule, at: int):
        self.scene, self.rule = scene, rule
        self.rows = np.arange(scene.first[at], scene.first[at + 1])
        self.hours = (scene.seconds[self.rows] - START.timestamp()) / 3600

    def number(self, node: ast.expr) -> np.ndarray:
        """Evaluate a part of an expression over the rows."""
        value = Expression(ast.unparse(node)).number(self._look_up)
        return np.broadcast_to(value, self.scene.size)[self.rows]

    def truth(self, node: ast.expr) -> np.ndarray:
        return np.broadcast_to(Expression(ast.unparse(node)).truth(self._look_up).true, self.scene.size)[self.rows]

    def _look_up(self, name: str):
        limit = self.rule.limits.get(name)
        return self.scene.value(name, self.rule.values) if limit is None else limit.value


def _trend_panels(view: _View, case: Case) -> dict[str, Panel]:
    """Draw what the case holds of the terminal, and of its air handler what moves or is a temperature."""
    panels = {name: Panel(_TITLES[name], *_unit(name), state=name == "state") for name in PANELS}
    if view.scene.terminals[0] != TERMINAL_TAG:
        return panels
    for name in case.told["trends"]:
        _draw(panels, view, TERMINAL[name], view.scene.table[name].to_numpy()[view.rows])
    for name in case.told.get("air_handler", {}):
        values = view.scene.air_handler(name)[view.rows]
        if AIR_HANDLER[name].dimension == "temperature" or np.ptp(values) > 0:
            _draw(panels, view, AIR_HANDLER[name], values)
    return panels


_TITLES = {
    "temperature": "temperature",
    "flow": "airflow",
    "percent": "signal",
    "concentration": "carbon dioxide",
    "pressure": "pressure",
    "fraction": "share",
    "state": "on or off",
}


def _unit(dimension: str) -> tuple[str]:
    return (
        {"fraction": "%", "state": "", "time": "min", "count": "count"}.get(dimension) or shown_unit(dimension, "si"),
    )


def _draw(panels: dict[str, Panel], view: _View, quantity, values: np.ndarray) -> None:
    if quantity.dimension in panels:
        panels[quantity.dimension].lines.append(Line(quantity.name, view.hours, _shown(values, quantity.dimension)))


def _shown(values: np.ndarray, dimension: str) -> np.ndarray:
    if dimension == "fraction":
        return values * 100
    if dimension == "time":
        return values / 60
    return to_shown(values, dimension, "si")


def _add_comparisons(panels: dict[str, Panel], view: _View, at_fault: np.ndarray) -> None:
    """Draw the limits beside the trends they bound, and what else the fault compares in panels of its own."""
    nodes = [
        node for node in ast.walk(ast.parse(view.rule.fault_when.text, mode="eval")) if isinstance(node, ast.Compare)
    ]
    told = [node for node in nodes if _bounds(node) and _dimension(view, node.left)]
    met = [node for node in told if (view.truth(node) & at_fault).any()]
    for node in sorted(met or told, key=nodes.index):
        dimension = _dimension(view, node.left)
        limit = Line(_label(node.comparators[0]), view.hours, _shown(view.number(node.comparators[0]), dimension), True)
        trend = isinstance(node.left, ast.Name) and node.left.id in TERMINAL
        home = panels.get(dimension)
        if trend and home and any(line.name == node.left.id for line in home.lines):
            if all(line.name != limit.name for line in home.lines):
                home.lines.append(limit)
            continue
        title = ast.unparse(node.left)
        made = sum(name not in PANELS for name in panels)
        values = _shown(view.number(node.left), dimension)
        if trend or made >= MOST_COMPARED or title in panels or np.isnan(values).all():
            continue
        panels[title] = Panel(title, *_unit(dimension), lines=[Line(title, view.hours, values), limit])


def _bounds(node: ast.Compare) -> bool:
    """Tell a comparison with a limit from one of states, and from one with a bare 0."""
    return not isinstance(node.ops[0], ast.Eq | ast.NotEq) and not isinstance(node.comparators[0], ast.Constant)


def _label(node: ast.expr) -> str:
    text = ast.unparse(node)
    return text if len(text) <= 34 else "limit"


def _dimension(view: _View, node: ast.expr) -> str | None:
    for part in ast.walk(node):
        if isinstance(part, ast.Name):
            if part.id in TERMINAL:
                return TERMINAL[part.id].dimension
            if part.id in SIGNALS:
                return SIGNALS[part.id].dimension
    return None


def _span(panels: list[Panel], hours: np.ndarray, episodes: list[tuple[float, float]]) -> tuple[float, float]:
    """Show the whole case; of one that swings fast, or whose fault is short, the hours about the fault."""
    begin, end = float(hours[0]), float(hours[-1])
    first, last = episodes[0][0], max(until for _, until in episodes)
    turns = max(_turns(line.values) for panel in panels for line in panel.lines if not line.limit)
    if turns > MOST_TURNS:
        wanted = max(3.0, (end - begin) * MOST_TURNS / 2 / turns)
        return max(begin, first - 0.5), min(end, max(begin, first - 0.5) + wanted)
    if last - first < 0.3 * (end - begin):
        around = max(1.0, 0.75 * (last - first))
        return max(begin, first - around), min(end, last + around)
    return begin, end


def _turns(values: np.ndarray) -> int:
    step = np.sign(np.diff(values[~np.isnan(values)]))
    step = step[step != 0]
    return int((step[1:] != step[:-1]).sum())


def _within(line: Line, span: tuple[float, float]) -> Line:
    """Cut a line to the hours shown and leave out the samples that change nothing of its looks."""
    inside = (line.hours >= span[0] - 1e-6) & (line.hours <= span[1] + 1e-6)
    hours, values = line.hours[inside], line.values[inside]
    if not len(values):
        return Line(line.name, hours, values, line.limit)
    there = ~np.isnan(values)
    before, after = np.r_[np.nan, values[:-1]], np.r_[values[1:], np.nan]
    kept = there & ~((values == before) & (values == after))
    kept |= ~there & np.r_[True, there[:-1]]  # one empty sample breaks the line
    hours, values = hours[kept], values[kept]
    if len(values) > MOST_SAMPLES and not np.isnan(values).any():
        chosen = kept_samples(values, np.zeros(len(values), bool), most=MOST_SAMPLES)
        hours, values = hours[chosen], values[chosen]
    return Line(line.name, hours, values, line.limit)
