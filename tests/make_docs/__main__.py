"""``python -m tests.make_docs``: write what follows from the code: documents, and the charts' specifications."""

from __future__ import annotations

from analyzer.engine.rulebook import read_rules
from analyzer.places import rule_book
from analyzer.report.charts import SPECIFICATIONS, specifications_script
from tests.make_docs.case_chart import svg
from tests.make_docs.case_figure import figure_of
from tests.make_docs.pages import DOCS, pages


def main() -> None:
    """Write pages and charts; a page of a rule that is gone is removed."""
    told = pages()
    charts = {f"rules/{name}.svg": svg(figure_of(name)) for name in read_rules([rule_book()])}
    (DOCS / "rules").mkdir(parents=True, exist_ok=True)
    for file in (DOCS / "rules").iterdir():
        if f"rules/{file.name}" not in {*told, *charts}:
            file.unlink()
    for name, text in (told | charts).items():
        (DOCS / name).write_text(text, encoding="utf-8")
    SPECIFICATIONS.write_text(specifications_script(), encoding="utf-8")
    print(f"{len(told)} pages and {len(charts)} charts written below {DOCS}")


if __name__ == "__main__":
    main()
