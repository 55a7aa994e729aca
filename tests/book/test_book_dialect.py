"""One description of the tables serves both stores; a place is written `?` in every statement."""

import pytest

from cheque.book import dialect
from cheque.book.schema import everything


def test_every_statement_of_the_description_can_be_said_in_postgresqls_words() -> None:
    made = dialect.translated(everything())
    assert len(made) >= len(everything())
    tables = [text for text in made if text.startswith("CREATE TABLE")]
    assert len(tables) == sum(bool(dialect.table_of(text)) for text in everything())
    assert all("STRICT" not in text and "INTEGER" not in text and "BLOB" not in text for text in tables)
    assert all(text.count('COLLATE "C"') == text.count(" TEXT ") for text in tables)


def test_what_the_description_cannot_say_is_refused_and_not_guessed() -> None:
    for odd in ("CREATE VIEW v AS SELECT 1", "CREATE TABLE t (a INTEGER)", "DROP TABLE event"):
        with pytest.raises(ValueError, match="of a known form"):
            dialect.translated([odd])


@pytest.mark.parametrize(
    ("sql", "given"),
    [
        ("SELECT a FROM t WHERE a = ? AND b = ?", "SELECT a FROM t WHERE a = %s AND b = %s"),
        ("SELECT '?', 'it''s ?' FROM t WHERE a = ?", "SELECT '?', 'it''s ?' FROM t WHERE a = %s"),
        ("SELECT 7 % 2, '%' FROM t", "SELECT 7 %% 2, '%%' FROM t"),
    ],
)
def test_a_place_is_no_question_mark_in_a_text(sql: str, given: str) -> None:
    assert dialect.places(sql) == given
