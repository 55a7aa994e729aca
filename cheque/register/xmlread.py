"""XML, a piece at a time and bounded: for readers whose files are XML.

No document type is taken, so that there are no entities but the five of XML itself and nothing is fetched. Depth,
the length of one tag, and the size of one unit are bounded, so that no file can fill the memory. Built on expat,
which is in Python's library.
"""

from collections.abc import Iterator
from typing import BinaryIO, NamedTuple
from xml.parsers import expat

from cheque.register.characters import shown
from cheque.tongue import tr

_CHUNK = 32_768
#: bytes of one tag or of anything else that has to be whole before it can be read
LONGEST_TOKEN = 262_144
DEEPEST = 24
#: elements, and characters of text, in one unit
MOST_ELEMENTS = 20_000
MOST_TEXT = 1_000_000
#: names of elements that are remembered
MOST_NAMES = 1_000


class XmlRefused(Exception):
    """The file is not XML that can be taken: where, what was found, wanted, and what to do."""

    def __init__(self, line: int, found: str, wanted: str, do: str) -> None:
        super().__init__(found)
        self.line, self.found, self.wanted, self.do = line, found, wanted, do


class Node:
    """An element with all that is in it. `name` is its local name; one of another namespace has that before it."""

    __slots__ = ("attributes", "children", "line", "name", "text")

    def __init__(self, name: str, attributes: dict[str, str], line: int) -> None:
        self.name, self.attributes, self.line = name, attributes, line
        self.text = ""
        self.children: list[Node] = []

    @property
    def called(self) -> str:
        """Its name as a message may show it: not too long, and harmless on any screen."""
        return ascii(self.name)[1:-1][:80]

    def first(self, *path: str) -> "Node | None":
        """The first element at the end of a path below this one, or None."""
        node: Node | None = self
        for name in path:
            node = next((child for child in node.children if child.name == name), None) if node else None
        return node

    def value(self, *path: str) -> str:
        """The text there, without blanks at its ends, or ""."""
        node = self.first(*path)
        return node.text.strip(" \t\r\n") if node else ""


class Event(NamedTuple):
    """A container that opens or closes, or a whole unit of one: `namespace` is of the document's root."""

    what: str
    name: str
    line: int
    namespace: str = ""
    node: Node | None = None
    #: the container that a unit is in
    inside: str = ""


class _Builder:
    """Expat's handlers: containers are told, all else below them is built into units."""

    def __init__(self, containers: frozenset[tuple[str, ...]], most_elements: int) -> None:
        self._most = most_elements
        self.events: list[Event] = []
        self._containers = containers
        self._names: dict[str, tuple[str, str]] = {}
        self._path: list[str] = []
        self._stack: list[Node] = []
        self._texts: list[list[str]] = []
        self._namespace: str | None = None
        self._elements = self._characters = 0
        self.parser = parser = expat.ParserCreate(namespace_separator=" ")
        parser.buffer_text = True
        parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._text
        parser.StartDoctypeDeclHandler = self._doctype

    def _refuse(self, found: str, wanted: str, do: str = "") -> None:
        raise XmlRefused(self.parser.CurrentLineNumber, found, wanted, do or tr("look at the file"))

    def _doctype(self, name: str, system: str | None, public: str | None, internal: bool) -> None:
        self._refuse(tr("a document type"), tr("none, because it could bring in anything"), tr("take the DOCTYPE out"))

    def _split(self, name: str) -> tuple[str, str]:
        """Namespace and local name; remembered, because a file has few names and says them often."""
        namespace, _, local = name.rpartition(" ")
        if len(self._names) < MOST_NAMES:
            self._names[name] = namespace, local
        return namespace, local

    def _start(self, name: str, attributes: dict[str, str]) -> None:
        namespace, local = self._names.get(name) or self._split(name)
        line = self.parser.CurrentLineNumber
        if self._namespace is None:
            self._namespace = namespace
        if namespace != self._namespace:
            local = f"{{{namespace}}}{local}"
        if len(self._path) + len(self._stack) >= DEEPEST:
            self._refuse(tr("elements {deepest} deep", deepest=DEEPEST + 1), tr("at most {deepest}", deepest=DEEPEST))
        if not self._stack and (*self._path, local) in self._containers:
            self._path.append(local)
            self.events.append(Event("opens", local, line, self._namespace))
            return
        self._elements += 1
        if self._elements > self._most:
            self._refuse(
                tr("more than {most} elements in one {called}", most=self._most, called=self._stack[0].called),
                tr("fewer"),
            )
        node = Node(local, attributes, line)
        if self._stack:
            self._stack[-1].children.append(node)
        self._stack.append(node)
        self._texts.append([])

    def _end(self, name: str) -> None:
        if not self._stack:
            local = self._path.pop()
            self.events.append(Event("closes", local, self.parser.CurrentLineNumber, self._namespace or ""))
            return
        node = self._stack.pop()
        text = "".join(self._texts.pop())
        if not node.children:
            node.text = text
        elif text.strip():
            node.children.append(Node(tr("text {text}", text=shown(text.strip())), {}, node.line))
        if not self._stack:
            self.events.append(
                Event("unit", node.name, node.line, self._namespace or "", node, "".join(self._path[-1:]))
            )
            self._elements = self._characters = 0

    def _text(self, text: str) -> None:
        if not self._stack:
            if text.strip():
                self._refuse(tr("text {text} between elements", text=shown(text.strip())), tr("elements alone"))
            return
        self._characters += len(text)
        if self._characters > MOST_TEXT:
            self._refuse(
                tr(
                    "more than {most_text} characters in one {called}",
                    most_text=MOST_TEXT,
                    called=self._stack[0].called,
                ),
                tr("fewer"),
            )
        self._texts[-1].append(text)


def events(
    stream: BinaryIO, containers: frozenset[tuple[str, ...]], *, most_elements: int = MOST_ELEMENTS
) -> Iterator[Event]:
    """What is in a document, in its order. Raises XmlRefused, after what came before it."""
    builder = _Builder(containers, most_elements)
    fed = 0
    refused: XmlRefused | None = None
    while refused is None:
        piece = stream.read(_CHUNK)
        fed += len(piece)
        try:
            builder.parser.Parse(piece, not piece)
            if fed - max(builder.parser.CurrentByteIndex, 0) > LONGEST_TOKEN:
                found = tr("more than {longest_token} bytes without an end of a tag", longest_token=LONGEST_TOKEN)
                refused = XmlRefused(
                    builder.parser.CurrentLineNumber, found, tr("shorter ones"), tr("look at the file")
                )
        except XmlRefused as error:
            refused = error
        except expat.ExpatError as error:
            refused = XmlRefused(
                error.lineno, str(error), tr("well-formed XML"), tr("look whether the file is cut short")
            )
        except (LookupError, ValueError):
            refused = XmlRefused(1, tr("an encoding that is not known here"), "UTF-8", tr("save the file as UTF-8"))
        yield from builder.events
        builder.events.clear()
        if not piece:
            break
    if refused:
        raise refused
