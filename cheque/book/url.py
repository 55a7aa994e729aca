"""Where a book on a server is: a URL, which holds no password.

    postgresql://db.quillmere.example/cheques
    postgresql:///cheques?host=/run/postgresql
    postgresql:///?service=quillmere
    postgresql://one,two/cheques?target_session_attrs=read-write&schema=quillmere

What stands in it is what PostgreSQL's own client library takes (its documentation, 34.1.1.2 "Connection URIs" and
34.1.2 "Parameter Key Words"), with one key more: `schema`, the book's own schema in that database ("cheque" unless
said). A password stands in the library's password file (34.16) or service file (34.17), never here.
"""

import re
from typing import NamedTuple
from urllib.parse import parse_qsl, unquote, urlencode, urlsplit

from cheque.tongue import mark, tr

BEGINS = ("postgresql://", "postgres://")
SCHEMA = "cheque"
#: keys of the library whose values are secrets
_SECRET = frozenset({"password", "sslpassword", "oauth_client_secret", "scram_client_key", "scram_server_key"})
_NAME = re.compile(r"[a-z_][a-z0-9_]{0,62}")
_DO = mark("put it into PostgreSQL's password file (~/.pgpass) or a service file, which only you can read")


class Url(NamedTuple):
    """`conninfo` is what the client library is given; `schema` the book's own; `text` what may be shown."""

    text: str
    conninfo: str
    schema: str


def is_url(place: str) -> bool:
    """Whether a book's place is on a server, and no folder."""
    return place.startswith(BEGINS)


def parse(text: str) -> Url:
    """A book's URL. ValueError, which shows nothing that might be secret, when it is none or holds a password."""
    if not is_url(text):
        raise ValueError(tr("no URL that begins with postgresql://"))
    if not text.isprintable() or " " in text:
        raise ValueError(tr("a URL with blanks, or characters that are not printed, in it"))
    try:
        split = urlsplit(text)
        pairs = parse_qsl(split.query, keep_blank_values=True, strict_parsing=bool(split.query))
    except ValueError:
        raise ValueError(tr("a URL that cannot be read")) from None
    user = split.netloc.rpartition("@")[0]
    if ":" in unquote(user) or any(key.lower() in _SECRET for key, _ in pairs):
        raise ValueError(tr("a password in the URL: {do}", do=tr(_DO)))
    if any(key == "options" and "password" in value.lower() for key, value in pairs):
        raise ValueError(tr("a password in the URL's options: {do}", do=tr(_DO)))
    if split.fragment:
        raise ValueError(tr("a URL with # in it"))
    schema = dict(pairs).get("schema", SCHEMA)
    if not _NAME.fullmatch(schema) or schema.startswith("pg_"):
        raise ValueError(tr("a schema that is no plain name: wanted small letters, digits and _"))
    kept = urlencode([(key, value) for key, value in pairs if key != "schema"], safe="/,")
    # put together by hand: where there is no host, urlunsplit drops the two slashes
    return Url(text, f"postgresql://{split.netloc}{split.path}{'?' if kept else ''}{kept}", schema)
