"""A book on a server is named by a URL, in which no password stands."""

import pytest

from cheque.book import url

HOST = "db.quillmere.example"


@pytest.mark.parametrize(
    ("text", "conninfo", "schema"),
    [
        (f"postgresql://{HOST}/cheques", f"postgresql://{HOST}/cheques", "cheque"),
        (f"postgres://clerk@{HOST}:5433/cheques?schema=yard", f"postgresql://clerk@{HOST}:5433/cheques", "yard"),
        ("postgresql:///cheques?host=/run/pg", "postgresql:///cheques?host=/run/pg", "cheque"),
        ("postgresql:///?service=yard&schema=main_book", "postgresql:///?service=yard", "main_book"),
        (
            "postgresql://one,two/cheques?target_session_attrs=read-write",
            "postgresql://one,two/cheques?target_session_attrs=read-write",
            "cheque",
        ),
    ],
)
def test_a_url_is_what_the_client_library_takes_and_a_schema(text: str, conninfo: str, schema: str) -> None:
    """The keys are those of PostgreSQL's documentation, 34.1.2."""
    psycopg = pytest.importorskip("psycopg")
    found = url.parse(text)
    assert (found.conninfo, found.schema) == (conninfo, schema)
    assert psycopg.conninfo.conninfo_to_dict(found.conninfo)


@pytest.mark.parametrize(
    "text",
    [
        f"postgresql://clerk:sesame@{HOST}/cheques",
        f"postgresql://clerk%3Asesame@{HOST}/cheques",
        f"postgresql://{HOST}/cheques?user=clerk&password=sesame",
        f"postgresql://{HOST}/cheques?PASSWORD=sesame",
        f"postgresql://{HOST}/cheques?sslpassword=sesame",
        f"postgresql://{HOST}/cheques?options=-c%20PGPASSWORD%3Dsesame",
    ],
)
def test_a_password_in_a_url_is_refused_and_not_shown(text: str) -> None:
    with pytest.raises(ValueError, match=r"a password in the URL.*password file") as caught:
        url.parse(text)
    assert "sesame" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("book", "no URL"),
        ("mysql://x/y", "no URL"),
        (f"postgresql://{HOST}/the book", "blanks"),
        (f"postgresql://{HOST}/cheques#part", "#"),
        (f"postgresql://{HOST}/cheques?schema=Robert'); --", "blanks"),
        (f"postgresql://{HOST}/cheques?schema=Yard", "no plain name"),
        (f"postgresql://{HOST}/cheques?schema=pg_catalog", "no plain name"),
        (f"postgresql://{HOST}/cheques?schema", "cannot be read"),
        ("postgresql://[::1/cheques", "cannot be read"),
    ],
)
def test_what_is_no_url_of_a_book_is_refused(text: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        url.parse(text)


def test_a_folder_is_no_url() -> None:
    assert not url.is_url("book")
    assert url.is_url("postgresql:///cheques")
