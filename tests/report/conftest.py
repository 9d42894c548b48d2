"""An invented report, and its pages opened in a browser."""

import pytest

from analyzer.report import write_report
from tests.report.invented_building import A_PAGE, invented_results


@pytest.fixture(scope="module")
def results():
    return invented_results(terminals=14, awkward=True)


@pytest.fixture(scope="module")
def report(results, tmp_path_factory):
    folder = tmp_path_factory.mktemp("report")
    write_report(results, folder)
    return folder


@pytest.fixture
def index(open_page, report):
    visit = open_page()
    visit.go(report / "index.html")
    yield visit
    visit.assert_clean()


@pytest.fixture
def terminal(open_page, report):
    visit = open_page()
    visit.go(report / "terminals" / A_PAGE)
    yield visit
    visit.assert_clean()
