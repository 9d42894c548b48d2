"""What a newcomer types first: the bare command, its version, and the report in the browser."""

import webbrowser

from analyzer.cli import _show


def test_the_bare_command_shows_its_help(trendwright, tmp_path):
    ran = trendwright(cwd=tmp_path)
    assert ran.status == 0 and not ran.err
    assert "Commands:\n" in ran.out and "evidence" in ran.out and len(ran.out.splitlines()) > 10


def test_the_version_is_told(trendwright, tmp_path):
    ran = trendwright("--version", cwd=tmp_path)
    assert ran.status == 0 and ran.out.startswith("trendwright ")


def test_the_report_is_shown_in_the_browser_or_its_place_is_told(monkeypatch, capsys, tmp_path):
    shown = []
    monkeypatch.setattr(webbrowser, "open", lambda url: shown.append(url) or True)
    _show(str(tmp_path / "index.html"))
    assert shown == [(tmp_path / "index.html").as_uri()] and not capsys.readouterr().out
    monkeypatch.setattr(webbrowser, "open", lambda url: False)
    _show("review/index.html")
    assert "open review/index.html yourself" in capsys.readouterr().out
