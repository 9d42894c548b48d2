"""Bad input gets one clear sentence, status 2, and nothing is written."""

import pytest

from analyzer.errors import printable

SITE = '[site]\ntime_zone = "America/Chicago"\nterminals = "terminals.csv"\n'
TERMINALS = "terminal,kind,ventilation_min [cfm]\nTU-1,single-duct,100\n"
EXPORT = "Time,TU-1.PRI-FLOW (cfm)\n" + "".join(
    f"2026-01-12 {hour:02}:{minute:02},120\n" for hour in range(24) for minute in (0, 15, 30, 45)
)


@pytest.fixture
def room(tmp_path):
    """A folder with one small export, a site file and a schedule."""
    exports = tmp_path / "exports"
    exports.mkdir()
    (exports / "week.csv").write_text(EXPORT)
    (exports / "site.toml").write_text(SITE)
    (exports / "terminals.csv").write_text(TERMINALS)
    return tmp_path


def test_sound_input_is_reviewed(room, trendwright):
    ran = trendwright("review", "exports", "--out", "out", cwd=room)
    assert ran.status == 0, ran.err
    assert (room / "out" / "index.html").exists()


@pytest.mark.parametrize(
    ("spoil", "call", "told"),
    [
        (None, ["review", "nowhere.csv"], "nowhere.csv"),
        (lambda room: (room / "empty").mkdir(), ["review", "empty"], "empty"),
        (
            lambda room: replace(room, "site.toml", "America/Chicago", "America/Chicag"),
            ["review", "exports"],
            "'America/Chicag' is no time zone",
        ),
        (
            lambda room: replace(room, "terminals.csv", "100", "hundred"),
            ["review", "exports"],
            "terminals.csv: line 2, column 'ventilation_min': 'hundred'",
        ),
        (lambda room: own_rule(room), ["review", "exports"], "my-rule.toml: "),
        (
            lambda room: replace(room, "site.toml", "[site]", "[rule.fan-short-cycle]\nenabled = false\n[site]"),
            ["review", "exports"],
            "did you mean 'fan-short-cycling'",
        ),
        (lambda room: replace(room, "week.csv", EXPORT, "\x00\x01\x02"), ["review", "exports"], "week.csv"),
        (None, ["review", "exports", "--out", "exports"], "Give the review a folder of its own"),
        (None, ["review", "exports", "--out", "."], "Give the review a folder of its own"),
        (None, ["review", "exports", "--out", "exports/week.csv"], "is a file, not a folder"),
        (None, ["review", "exports", "--site", "nowhere.toml"], "nowhere.toml: there is no such file"),
        (None, ["review", "exports", "--fail-on", "hgh"], "did you mean 'high'"),
        (None, ["review"], "Missing argument"),
        (None, ["revue", "exports"], "No such command 'revue'"),
        (None, ["normalize", "exports", "--out", "table.csv"], "does not end in .parquet"),
        (None, ["rules", "fan-short-cycle"], "did you mean 'fan-short-cycling'"),
        (None, ["demo", "exports"], "not an empty folder"),
        (None, ["demo", "new", "--shape", "wid"], "did you mean 'wide'"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_refused_in_one_sentence_and_nothing_written(room, trendwright, spoil, call, told):
    if spoil:
        spoil(room)
    before = listing(room)
    ran = trendwright(*call, cwd=room)
    assert ran.status == 2
    last = ran.err.strip().splitlines()[-1]
    assert last.startswith("trendwright: ") and told in last
    assert len(last) < 1000
    assert listing(room) == before


def replace(room, name: str, old: str, new: str) -> None:
    """Spoil one of the input files."""
    path = room / "exports" / name
    assert old in path.read_text()
    path.write_text(path.read_text().replace(old, new, 1))


def own_rule(room) -> None:
    """Give the site a rule of its own, with a mistake in it."""
    (room / "exports" / "mine").mkdir()
    (room / "exports" / "mine" / "my-rule.toml").write_text('titel = "mine"\n')
    replace(room, "site.toml", "[site]", '[site]\nrules = "mine"')


def listing(room) -> list[str]:
    """Return every path below a folder."""
    return sorted(str(path.relative_to(room)) for path in room.rglob("*"))


def test_a_space_between_figure_and_unit_is_printed_as_one():
    assert printable("69.3\u00a0°F, 70\u202f°F, \x1b[2J") == "69.3 °F, 70 °F, ?[2J"
