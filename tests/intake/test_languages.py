"""Names, headings, states and numbers as German, French and Spanish exports write them."""

from __future__ import annotations

import csv
from pathlib import Path

import pyarrow as pa
import pytest

from analyzer.intake import read_exports
from analyzer.intake.points.entries import Entry
from analyzer.intake.points.propose import propose
from analyzer.intake.words.flags import read_flags
from analyzer.intake.words.names import tokens_of
from analyzer.intake.words.tags import TagFinder
from analyzer.intake.words.values import FLAG, NOTHING, WORD, ValueTexts
from analyzer.quantities import TERMINAL
from analyzer.site import Site

NAMES = list(
    csv.DictReader(Path(__file__).with_name("names_of_languages.csv").read_text(encoding="utf-8").splitlines())
)


@pytest.mark.parametrize("row", NAMES, ids=lambda row: row["name"])
def test_a_name_is_what_it_says(row):
    point = propose("trend.csv", Entry(row["name"]), TagFinder([], []))
    assert (point.quantity or "") == row["quantity"]
    assert point.tag
    if point.mapped:
        assert point.air_handler == (row["quantity"] not in TERMINAL or row["name"].startswith(("AHU", "CTA", "UTA")))


def test_accents_make_no_other_word_of_a_name():
    spelled = ["Débit", "debit", "DÉBIT", "De\u0301bit"]
    assert {tuple(token.low for token in tokens_of(name)) for name in spelled} == {("debit",)}


@pytest.mark.parametrize("text", ["Ein", "Belegt", "geöffnet", "Marche", "Occupé", "En marcha", "Sí", "ENCENDIDO"])
def test_states_that_say_yes(text):
    read = ValueTexts(pa.array([text]), ".")
    assert (read.kind[0], read.number[0]) == (WORD, 1)


@pytest.mark.parametrize(
    "text", ["Aus", "nicht belegt", "Geschlossen", "Arrêt", "Éteint", "Fermé", "Apagado", "Cerrado"]
)
def test_states_that_say_no(text):
    read = ValueTexts(pa.array([text]), ".")
    assert (read.kind[0], read.number[0]) == (WORD, 0)


def test_cells_without_a_value_and_flags():
    read = ValueTexts(pa.array(["kein Wert", "Sin datos", "Non disponible", "Störung", "Défaut", "Fallo"]), ",")
    assert read.kind.tolist() == [NOTHING] * 3 + [FLAG] * 3
    assert read_flags(["gültig", "ungültig", "Bonne", "Douteux"])[0] == [False, True, False, True]


@pytest.mark.parametrize(
    ("text", "tags"),
    [
        (
            "Datum;Uhrzeit;Raum 1.04 Raumtemperatur [°C];Raum 1.04 Volumenstrom Ist [m³/h];Raum 2.04 Raumtemperatur [°C]\n"
            "26.01.2026;06:00:00;20,5;1.260,0;22,5\n26.01.2026;06:15:00;20,6;1.260,0;22,6\n",
            {"Raum 1.04": 20.5, "Raum 2.04": 22.5},
        ),
        (
            "Horodatage;Équipement;Grandeur;Valeur;Unité;Qualité\n"
            "26/01/2026 06:00;VAV-1;Température ambiante;20,5;°C;bonne\n26/01/2026 06:00;VAV-1;Débit d'air;1 260,0;m³/h;bonne\n"
            "26/01/2026 06:15;VAV-1;Température ambiante;20,6;°C;bonne\n26/01/2026 06:15;VAV-1;Débit d'air;1 260,0;m³/h;bonne\n",
            {"VAV-1": 20.5},
        ),
        (
            "Fecha;Hora;VAV-1 Temperatura ambiente;VAV-1 Caudal de aire (m3/h)\n"
            "26/01/2026;06:00;20,5;1.260,0\n26/01/2026;06:15;20,6;1.260,0\n",
            {"VAV-1": 20.5},
        ),
    ],
    ids=["German", "French", "Spanish"],
)
def test_a_file_is_read_whole(tmp_path, text, tags):
    (tmp_path / "trend.csv").write_text(text, encoding="utf-8")
    table = read_exports([tmp_path / "trend.csv"], Site()).terminals.groupby("terminal").first()
    assert table["zone_temp"].to_dict() == pytest.approx(tags)
    assert table["primary_flow"].dropna().tolist() == pytest.approx([350.0])


def test_a_point_between_numbers_belongs_to_the_tag():
    owners = [TagFinder([], []).find(name) for name in ("R1.04 Temp", "R2.04 Temp", "EG.R05 Temp")]
    assert [owner.tag for owner in owners] == ["R1.04", "R2.04", "R05"]


@pytest.mark.parametrize(
    "lost",
    [
        lambda text: text.encode("utf-8").decode("cp1252").encode("utf-8"),
        lambda text: text.encode("ascii", "replace"),
        lambda text: text.replace("é", "\ufffd").replace("°", "\ufffd").replace("³", "\ufffd").encode("utf-8"),
    ],
    ids=["encoded twice", "question marks", "replacement characters"],
)
def test_accents_that_a_wrong_encoding_lost(tmp_path, lost):
    text = "Date;Température ambiante (°C);Débit (m³/h)\n26/01/2026 06:00;20,5;900\n26/01/2026 06:15;20,6;900\n"
    (tmp_path / "VAV-1.csv").write_bytes(lost(text))
    table = read_exports([tmp_path / "VAV-1.csv"], Site()).terminals
    assert table["zone_temp"].tolist() == pytest.approx([20.5, 20.6])
    assert table["primary_flow"].tolist() == pytest.approx([250, 250])


def test_a_terminal_s_word_without_a_number_says_nothing(tmp_path):
    rows = "".join(f"26.01.2026 06:{m:02d};20;250;240;30\n" for m in (0, 15, 30))
    header = "Zeit;Raumtemperatur °C;VVS ZUL Volumenstrom m³/h;VVS ABL Volumenstrom m³/h;VVS ZUL Klappe %\n"
    (tmp_path / "Raum 12.csv").write_text(header + rows, encoding="utf-8")
    trends = read_exports([tmp_path / "Raum 12.csv"], Site())
    assert trends.terminals["primary_flow"].tolist() == pytest.approx([250 / 3.6] * 3)
    assert trends.ledger.set_aside == {"unmapped column": 3}
