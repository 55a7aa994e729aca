"""A payday in another language: the same steps, figures and exit statuses; what scripts and banks read stays."""

from pathlib import Path

import pytest
from journeys.attending import Attend
from journeys.firm import Firm

FRENCH = {"LANGUAGE": "", "LC_ALL": "fr_FR.UTF-8"}


def french(firm: Firm, *arguments: str, expect: int = 0) -> str:
    """What a command says in French, talk and answer."""
    said = firm.run("--language", "fr", *arguments, expect=expect)
    return f"{said.err}{said.out}"


def test_a_payday_is_gone_through_in_french(firm: Firm) -> None:
    slip = ("--item-count", "24", "--hash-total", "51877")
    wrong = french(
        firm, "batch", "accept", firm.register(), "--form", "payroll-us", "--control-total", "18241.77", *slip, expect=3
    )
    assert "total de contrôle : 18241.77 sur le bordereau et 18214.77 dans le registre" in wrong
    assert "Lot 1 accepté : 24 paiements, 18214.77 USD" in french(
        firm, "batch", "accept", firm.register(), "--form", "payroll-us", "--control-total", "18214.77", *slip
    )
    code = french(firm, "proof", "1").split()[-1]
    assert code == firm.proof(1), "the code of a proof does not depend on the language"
    stamp = ("print", "1", "--first-number", "100501", "--paper-loaded", "--after-first", "go-on")
    assert "n'est pas le code" in french(firm, *stamp, "--proof-code", "2222-2222", expect=5)
    assert "24 formules envoyées" in french(firm, *stamp, "--proof-code", code)
    assert "Noté : 23 bonnes, 1 gâchées" in french(
        firm, "confirm", "1", "--spoiled", "100507=torn", "--good-count", "23"
    )
    assert "est annulé" in french(firm, "void", "100503", "--reason", "café renversé", "--paper", "in-hand")
    assert "imprimé" in french(firm, "show", "100504")
    assert "Le livre est entier" in french(firm, "book", "verify")
    english = firm.run("show", "100507", "--json").json
    assert firm.run("--language", "fr", "show", "100507", "--json").json == english
    assert english["is"] == "spoiled"


def test_what_is_struck_does_not_depend_on_the_language(stages: dict[str, Firm], tmp_path: Path) -> None:
    streams = []
    for language in ("en", "fr"):
        (tmp_path / language).mkdir()
        firm = stages["accepted"].copy(tmp_path / language)
        said = firm.run("--language", language, "proof", "1")
        firm.run(
            "--language", language, "print", "1", "--first-number", "100501", "--proof-code", said.out.split()[-1],
            "--paper-loaded", "--after-first", "go-on",
        )  # fmt: skip
        streams.append((firm.folder / "payroom.prn").read_bytes())
    assert streams[0] == streams[1]
    assert len(streams[0]) > 24_000


@pytest.mark.parametrize("form", ["csv", "json"])
@pytest.mark.parametrize("name", ["control", "numbers", "issued", "outstanding", "voids", "handover"])
def test_reports_as_data_are_the_same_in_every_language(paid: Firm, name: str, form: str) -> None:
    of = ("--batch", "1") if name == "control" else ()
    english = paid.run("report", name, *of, "--format", form).out
    spoken = paid.run("--language", "fr", "report", name, *of, "--format", form).out
    strip = [line for line in english.splitlines() if "printed" not in line and "as_of" not in line]
    assert strip == [line for line in spoken.splitlines() if "printed" not in line and "as_of" not in line]
    assert "Bénéficiaire" not in spoken


def test_reports_for_people_are_in_their_language(paid: Firm) -> None:
    text = french(paid, "report", "control", "--batch", "1")
    for words in ("État de contrôle, lot 1", "Total de contrôle", "Bénéficiaire", "Imprimé par", "oui"):
        assert words in text
    assert max(len(line) for line in text.splitlines()) <= 80
    page = french(paid, "report", "numbers", "--format", "html")
    assert '<html lang="fr">' in page
    assert "Numéro" in page


def test_the_system_s_own_setting_chooses_the_language(paid: Firm) -> None:
    assert "imprimé" in paid.spawn("show", "100501", environment=FRENCH).out
    assert "printed" in paid.spawn("show", "100501", environment={"LANGUAGE": "", "LC_ALL": "C"}).out
    assert "printed" in paid.spawn("--language", "en", "show", "100501", environment=FRENCH).out
    assert "Usage :" in paid.spawn("show", "--help", environment=FRENCH).out


def test_a_guided_payday_is_gone_through_in_french(attend: Attend, firm: Firm) -> None:
    firm.register()
    french_answers = {
        "Quel registre la paie a-t-elle remis": "1",
        "Quel est le total de contrôle": "18214.77",
        "Quel est le nombre de paiements": "24",
        "Quel est le total de vérification": "51877",
        "Comment regarderez-vous l'épreuve": "text",
        "Tapez open": "",
        "Le papier est-il chargé": "oui",
        "Quel numéro est préimprimé sur la formule en tête": "100501",
        "Quel numéro est préimprimé sur la formule qui vient": "100501",
        "Est-elle juste": "oui",
        "Quel numéro est préimprimé sur la dernière formule": "100524",
        "Combien de bonnes formules": "24",
        "Est-ce juste": "oui",
        "Y a-t-il un bon chèque": "",
        "Les états : les enregistrer": "save",
        "La banque a-t-elle été avisée": "told",
        "Où sont-ils maintenant": "held",
        "Qui les a": "S. Mooring",
        "Est-ce fait": "oui",
    }
    operator = attend(firm, answers=french_answers, environment=FRENCH)
    operator.unused_to_anything()  # no question in English has an answer
    operator.told["Saisissez le code"] = lambda _: operator.code()
    operator.to_the_end()
    assert "Le lot 1 est fini." in operator.shown
    assert len(firm.struck()) == 24
