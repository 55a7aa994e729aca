"""The paper decoder against byte strings written by hand from the published tables.

Every command and every refusal. What an expectation rests on is the table itself unless a comment says
otherwise.
"""

from fractions import Fraction

import pytest
from outside.paper import NATIONAL_SETS, NeverSendError, Paper, PaperError, Strike, Weight, read

F = Fraction


def escp9(stream: bytes, **options: object) -> Paper:
    return read(stream, "escp9", **options)  # type: ignore[arg-type]


def places(paper: Paper) -> list[tuple[F, F, str]]:
    return [(s.x, s.y, s.character) for s in paper.strikes]


def text(paper: Paper) -> str:
    return "".join(s.character for s in paper.strikes)


# Head and paper


def test_a_line_begins_at_the_first_column_at_ten_to_the_inch() -> None:
    paper = escp9(b"AB\r")
    assert paper.strikes == [
        Strike(F(0), F(0), "A", Weight.NONE, F(10)),
        Strike(F(1, 10), F(0), "B", Weight.NONE, F(10)),
    ]
    assert paper.fed == 0
    assert paper.unstruck == []


def test_blanks_move_the_head_and_strike_nothing() -> None:
    assert places(escp9(b"  A  B\r")) == [(F(2, 10), F(0), "A"), (F(5, 10), F(0), "B")]


def test_cr_returns_the_head_and_feeds_nothing() -> None:
    assert places(escp9(b"A\rB\r")) == [(F(0), F(0), "A"), (F(0), F(0), "B")]


def test_lf_feeds_and_does_not_return_the_head() -> None:
    assert places(escp9(b"A\nB\r\nC\r")) == [
        (F(0), F(0), "A"),
        (F(1, 10), F(1, 6), "B"),
        (F(0), F(2, 6), "C"),
    ]


def test_a_line_not_printed_at_the_end_was_not_struck() -> None:
    paper = escp9(b"A\r\nB")
    assert text(paper) == "A"
    assert [s.character for s in paper.unstruck] == ["B"]
    assert paper.fed == F(1, 6)


@pytest.mark.parametrize("ending", [b"\r", b"\n", b"\x1bC\x06\x0c", b"\x1bJ\x00"])
def test_what_prints_a_line(ending: bytes) -> None:
    paper = escp9(b"A" + ending)
    assert places(paper) == [(F(0), F(0), "A")]
    assert paper.unstruck == []


def test_bel_is_not_seen() -> None:
    assert places(escp9(b"A\x07B\r")) == [(F(0), F(0), "A"), (F(1, 10), F(0), "B")]


def test_can_drops_the_line_and_leaves_the_head() -> None:
    assert places(escp9(b"ABC\x18D\r")) == [(F(3, 10), F(0), "D")]


def test_can_cannot_take_back_what_was_printed() -> None:
    assert places(escp9(b"A\rB\x18\r")) == [(F(0), F(0), "A")]


def test_the_head_stops_at_the_right_edge() -> None:
    assert len(escp9(b"A" * 136 + b"\r").strikes) == 136
    with pytest.raises(PaperError, match="right edge"):
        escp9(b"A" * 137 + b"\r")
    with pytest.raises(PaperError, match="right edge"):
        escp9(b"A" * 81 + b"\r", width=F(8))


# Pitch


@pytest.mark.parametrize(
    ("command", "pitch"),
    [
        (b"\x1bP", F(10)),
        (b"\x1bM", F(12)),
        (b"\x1bg", F(15)),
        (b"\x0f", F(120, 7)),
        (b"\x1bP\x0f", F(120, 7)),
        (b"\x0f\x1bP", F(120, 7)),
        (b"\x1bM\x0f", F(20)),
        (b"\x0f\x1bM", F(20)),
        (b"\x1bg\x0f", F(15)),
        (b"\x0f\x12", F(10)),
        (b"\x1bM\x0f\x12", F(12)),
        (b"\x1bM\x1bP", F(10)),
        (b"\x1bM\x0f\x1b@", F(10)),
    ],
)
def test_pitch(command: bytes, pitch: F) -> None:
    strikes = escp9(command + b"AAA\r").strikes
    assert [s.pitch for s in strikes] == [pitch] * 3
    assert [s.x for s in strikes] == [0, 1 / pitch, 2 / pitch]


def test_condensed_is_seven_hundred_and_twentieths_exactly() -> None:
    last = escp9(b"\x0f" + b" " * 120 + b"A\r").strikes[-1]
    assert last.x == 7
    assert last.right - last.x == F(7, 120)


def test_pitches_mixed_in_one_line_add_up() -> None:
    assert places(escp9(b"A\x1bMB\x0fC\x12\x1bgD\x1bPE\r")) == [
        (F(0), F(0), "A"),
        (F(6, 60), F(0), "B"),
        (F(11, 60), F(0), "C"),
        (F(14, 60), F(0), "D"),
        (F(18, 60), F(0), "E"),
    ]


# Spacing and feeding


@pytest.mark.parametrize(
    ("command", "spacing"),
    [
        (b"", F(1, 6)),
        (b"\x1b0", F(1, 8)),
        (b"\x1b0\x1b2", F(1, 6)),
        (b"\x1b3\x22", F(34, 216)),
        (b"\x1b3\x00", F(0)),
        (b"\x1b3\xff", F(255, 216)),
        (b"\x1bA\x0c", F(1, 6)),
        (b"\x1bA\x55", F(85, 72)),
        (b"\x1b0\x1b@", F(1, 6)),
    ],
)
def test_line_spacing(command: bytes, spacing: F) -> None:
    paper = escp9(command + b"\r\n\r\nA\r\n")
    assert places(paper) == [(F(0), 2 * spacing, "A")]
    assert paper.fed == 3 * spacing


def test_esc_a_beyond_eighty_five_is_unknown() -> None:
    # Range from memory of the ESC/P Reference Manual.
    with pytest.raises(PaperError, match="not 0 to 85"):
        escp9(b"\x1bA\x56")


def test_esc_j_feeds_now_and_moves_no_head() -> None:
    paper = escp9(b"A\x1bJ\x24B\x1bJ\xff\r")
    assert places(paper) == [(F(0), F(0), "A"), (F(1, 10), F(36, 216), "B")]
    assert paper.fed == F(36 + 255, 216)


def test_esc_j_leaves_the_line_spacing() -> None:
    assert escp9(b"\x1bJ\x01\r\n").fed == F(1, 216) + F(1, 6)


# Form length


@pytest.mark.parametrize(
    ("command", "length"),
    [
        (b"\x1bC\x2a", F(7)),
        (b"\x1bC\x01", F(1, 6)),
        (b"\x1bC\x7f", F(127, 6)),
        (b"\x1b0\x1bC\x1c", F(28, 8)),
        (b"\x1b3\x22\x1bC\x17", F(782, 216)),
        (b"\x1bC\x00\x07", F(7)),
        (b"\x1bC\x00\x16", F(22)),
        (b"\x1bC\x2a\x1b0", F(7)),
    ],
)
def test_ff_feeds_to_the_next_top_of_form(command: bytes, length: F) -> None:
    assert escp9(command + b"\x0c").fed == length
    assert escp9(command + b"A\r\x0c\x0c").fed == 2 * length
    assert escp9(command + b"\x1bJ\x01\x0c\x1bJ\x23\x0c").fed == 2 * length


def test_ff_after_a_long_feed_stops_at_the_next_top_and_not_the_first() -> None:
    assert escp9(b"\x1bC\x06" + b"\n" * 8 + b"\x0c").fed == 2
    assert escp9(b"\x1bC\x06" + b"\n" * 6 + b"\x0c").fed == 2


def test_esc_c_makes_the_present_line_top_of_form() -> None:
    assert escp9(b"\r\n\r\n\x1bC\x0c\r\n\x0c").fed == F(2, 6) + 2


def test_esc_at_makes_the_present_line_top_of_form_and_forgets_the_length() -> None:
    # From memory of the ESC/P Reference Manual.
    assert escp9(b"\r\n\x1b@\x0c", form=F(11)).fed == F(1, 6) + 11
    assert escp9(b"\x1bC\x06\x1b@\x0c", form=F(11)).fed == 11
    with pytest.raises(PaperError, match="never set"):
        escp9(b"\x1bC\x06\x1b@\x0c")


def test_ff_with_no_form_length_is_refused() -> None:
    with pytest.raises(PaperError, match="never set"):
        escp9(b"A\r\x0c")
    assert escp9(b"A\r\x0c", form=F(11)).fed == 11


def test_the_head_is_not_known_after_ff_alone() -> None:
    with pytest.raises(PaperError, match="head"):
        escp9(b"\x1bC\x06A\x0cB\r")
    assert places(escp9(b"\x1bC\x06A\r\x0cB\r")) == [(F(0), F(0), "A"), (F(0), F(1), "B")]
    assert places(escp9(b"\x1bC\x06A\x0c\rB\r"))[1] == (F(0), F(1), "B")
    assert places(escp9(b"\x1bC\x06A\x0c\x1b$\x06\x00B\r"))[1] == (F(1, 10), F(1), "B")


@pytest.mark.parametrize("stream", [b"\x1bC\x80", b"\x1bC\x00\x00", b"\x1bC\x00\x17", b"\x1b3\x00\x1bC\x01"])
def test_form_lengths_out_of_range(stream: bytes) -> None:
    with pytest.raises(PaperError):
        escp9(stream)


def test_no_form_is_longer_than_twenty_two_inches() -> None:
    with pytest.raises(PaperError, match="a form of"):
        escp9(b"\x1b3\xff\x1bC\x7f")


# Skip over perforation


def test_skip_goes_to_the_next_top_of_form() -> None:
    # Six lines, the last two skipped: lines 0 to 3 print, then the next form.
    paper = escp9(b"\x1bC\x06\x1bN\x02" + b"A\r\n" * 6)
    assert [s.y for s in paper.strikes] == [0, F(1, 6), F(2, 6), F(3, 6), 1, 1 + F(1, 6)]
    assert paper.fed == 1 + F(2, 6)


def test_skip_is_switched_off_by_esc_o_esc_c_and_esc_at() -> None:
    lines = b"\r\n" * 5
    assert escp9(b"\x1bC\x06\x1bN\x02\x1bO" + lines).fed == F(5, 6)
    assert escp9(b"\x1bC\x06\x1bN\x02\x1bC\x06" + lines).fed == F(5, 6)
    assert escp9(b"\x1bC\x06\x1bN\x02\x1b@" + lines).fed == F(5, 6)


def test_skip_is_measured_at_the_spacing_when_it_was_set() -> None:
    paper = escp9(b"\x1bC\x06\x1bN\x02\x1b0" + b"\r\n" * 6)
    assert paper.fed == 1


def test_skip_needs_a_form_that_is_longer() -> None:
    for stream in (b"\x1bN\x02", b"\x1bC\x06\x1bN\x06", b"\x1bC\x06\x1bN\x00", b"\x1bC\x06\x1bN\x80"):
        with pytest.raises(PaperError):
            escp9(stream)


def test_esc_j_into_skipped_lines_is_refused() -> None:
    head = b"\x1bC\x06\x1bN\x02"
    assert escp9(head + b"\x1bJ\x8f").fed == F(143, 216)
    with pytest.raises(PaperError, match="skipped"):
        escp9(head + b"\x1bJ\x90")


# Weight and quality


@pytest.mark.parametrize(
    ("command", "weight"),
    [
        (b"\x1bG", Weight.DOUBLE),
        (b"\x1bG\x1bH", Weight.NONE),
        (b"\x1bE", Weight.BOLD),
        (b"\x1bE\x1bF", Weight.NONE),
        (b"\x1bE\x1bG", Weight.BOLD | Weight.DOUBLE),
        (b"\x1bE\x1bG\x1bF", Weight.DOUBLE),
        (b"\x1bE\x1bG\x1bH", Weight.BOLD),
        (b"\x1bE\x1bG\x1b@", Weight.NONE),
        (b"\x1bx\x01\x1bG", Weight.NONE),
        (b"\x1bG\x1bx\x01\x1bE", Weight.BOLD),
        (b"\x1bG\x1bx\x01\x1bx\x00", Weight.DOUBLE),
    ],
)
def test_weight(command: bytes, weight: Weight) -> None:
    assert [s.weight for s in escp9(command + b"A\r").strikes] == [weight]


@pytest.mark.parametrize(
    ("command", "letter"),
    [
        (b"", False),
        (b"\x1bx\x01", True),
        (b"\x1bx1", True),
        (b"\x1bx1\x1bx0", False),
        (b"\x1bx\x01\x1b@", False),
    ],
)
def test_quality(command: bytes, letter: bool) -> None:
    assert [s.letter for s in escp9(command + b"A\r").strikes] == [letter]


# Horizontal position


def test_esc_dollar_is_absolute_in_sixtieths() -> None:
    paper = escp9(b"AB\x1b$\x3c\x00C\x1b$\x2c\x01D\x1b$\x00\x00E\r")
    assert places(paper) == [
        (F(0), F(0), "A"),
        (F(1, 10), F(0), "B"),
        (F(1), F(0), "C"),
        (F(5), F(0), "D"),
        (F(0), F(0), "E"),
    ]


def test_esc_dollar_beyond_the_edge_is_refused() -> None:
    with pytest.raises(PaperError, match="right edge"):
        escp9(b"\x1b$\x30\x03")


# Characters


def test_the_printable_ascii_stands_for_itself() -> None:
    printable = bytes(range(0x21, 0x7F))
    assert text(escp9(printable + b"\r")) == printable.decode("ascii")


def test_esc_6_prints_80_to_9f_and_esc_7_does_not() -> None:
    assert text(escp9(b"\x1b6\x9c\x80\r")) == "£Ç"
    for stream in (b"\x9c", b"\x80", b"\x9f", b"\xff", b"\x1b6\x1b7\x9c", b"\x1b6\x1b@\x9c"):
        with pytest.raises(PaperError, match="not known"):
            escp9(stream)
    assert text(escp9(b"\x9c\r", upper_prints=True)) == "£"


def test_ff_hex_is_a_blank_in_table_437() -> None:
    assert places(escp9(b"\x1b6\xffA\r")) == [(F(1, 10), F(0), "A")]


def test_the_table_is_a_parameter() -> None:
    assert text(escp9(b"\xd5\r", table="cp858")) == "€"
    assert text(escp9(b"\xd5\r", table="cp850")) == "ı"
    assert text(escp9(b"\xa5\r")) == "Ñ"


def test_a_byte_with_no_character_in_the_table_is_refused() -> None:
    with pytest.raises(PaperError, match="no character in cp857"):
        escp9(b"\xd5", table="cp857")
    with pytest.raises(PaperError, match="prints nothing"):
        escp9(b"\x1b6\x85", table="iso8859-1")


def test_esc_t_chooses_the_italic_table_or_the_other() -> None:
    for zero, one in ((b"\x00", b"\x01"), (b"0", b"1")):
        assert text(escp9(b"\x1bt" + zero + b"A\x1bt" + one + b"\xa5\r")) == "AÑ"
        with pytest.raises(PaperError, match="italic"):
            escp9(b"\x1bt" + zero + b"\xa5")
    with pytest.raises(PaperError):
        escp9(b"\x1bt\x02")


def test_esc_paren_t_assigns_a_table() -> None:
    # The names of tables are from memory of the ESC/P Reference Manual: 1 0 is 437, 3 0 is 850, 7 0 is 860.
    assign = b"\x1b(t\x03\x00"
    assert text(escp9(assign + b"\x01\x03\x00\xb5\r")) == "Á"
    assert text(escp9(assign + b"1\x03\x00\xb5\r")) == "Á"
    assert text(escp9(assign + b"\x01\x03\x00" + assign + b"\x01\x01\x00\xb5\r")) == "╡"
    assert text(escp9(assign + b"\x00\x07\x00\x1bt\x00\xa9\r")) == "Ò"
    with pytest.raises(PaperError, match="italic"):
        escp9(assign + b"\x01\x00\x00\xb5")


def test_esc_paren_t_takes_names_from_the_caller() -> None:
    stream = b"\x1b(t\x03\x00\x01\x63\x01\xd5\r"
    with pytest.raises(PaperError, match="no character table"):
        escp9(stream)
    assert text(escp9(stream, table_names={(0x63, 1): "cp858"})) == "€"


@pytest.mark.parametrize("stream", [b"\x1b(t\x02\x00\x01\x03", b"\x1b(t\x03\x01\x01\x03\x00", b"\x1b(-\x03\x00"])
def test_esc_paren_otherwise_is_unknown(stream: bytes) -> None:
    with pytest.raises(PaperError):
        escp9(stream)


def test_a_national_set_changes_pound_and_dollar_signs() -> None:
    # From memory of the table of international character sets.
    assert text(escp9(b"#$\r")) == "#$"
    assert text(escp9(b"\x1bR\x03#$\r")) == "£$"
    assert text(escp9(b"\x1bR\x05#$\r")) == "#¤"
    assert text(escp9(b"\x1bR\x0b#$~\r")) == "#$ú"
    assert text(escp9(b"\x1bR\x02[\\]{|}~\r")) == "ÄÖÜäöüß"
    assert text(escp9(b"\x1bR\x03\x1bR\x00#\r")) == "#"
    assert text(escp9(b"\x1bR\x03\x1b@#\r")) == "#"
    with pytest.raises(PaperError, match="national"):
        escp9(b"\x1bR\x0e")


def test_every_national_set_replaces_twelve_and_nothing_else() -> None:
    replaced = "#$@[\\]^`{|}~"
    for number, shapes in NATIONAL_SETS.items():
        options = {"flow_bytes_in_parameters": True}
        assert len(shapes) == len(replaced)
        assert text(escp9(b"\x1bR" + bytes([number]) + replaced.encode() + b"\r", **options)) == shapes
        assert text(escp9(b"\x1bR" + bytes([number]) + b"AZaz09*-/.,'\r", **options)) == "AZaz09*-/.,'"


def test_one_direction_changes_nothing_on_the_paper() -> None:
    for value in (b"\x00", b"\x01", b"0", b"1"):
        assert places(escp9(b"\x1bU" + value + b"A\r")) == [(F(0), F(0), "A")]


# Reset


def test_esc_at_returns_the_head() -> None:
    assert places(escp9(b"   \x1b@A\r")) == [(F(0), F(0), "A")]


def test_esc_at_in_the_middle_of_a_line_is_refused() -> None:
    with pytest.raises(PaperError, match="unprinted"):
        escp9(b"A\x1b@")


# Refusals


@pytest.mark.parametrize("stream", [b"\x1b8", b"\x1bQ\x50", b"\x1bj\x01", b"\x11", b"\x13", b"A\x11", b"A\x13"])
def test_what_must_never_be_sent(stream: bytes) -> None:
    with pytest.raises(NeverSendError):
        escp9(stream)


@pytest.mark.parametrize("byte", [b"\x11", b"\x13"])
@pytest.mark.parametrize("command", [b"\x1bJ", b"\x1b3", b"\x1bC", b"\x1b$", b"\x1b$\x00"])
def test_flow_control_in_a_parameter(command: bytes, byte: bytes) -> None:
    with pytest.raises(NeverSendError):
        escp9(command + byte + b"\x00")


def test_flow_control_in_a_parameter_where_the_line_passes_it() -> None:
    assert escp9(b"\x1bJ\x11\x1bJ\x13", flow_bytes_in_parameters=True).fed == F(36, 216)
    with pytest.raises(NeverSendError):
        escp9(b"\x11", flow_bytes_in_parameters=True)


KNOWN_CONTROLS = b"\x07\x0a\x0c\x0d\x0f\x12\x18\x1b"


@pytest.mark.parametrize("byte", [b for b in [*range(0x20), 0x7F] if b not in KNOWN_CONTROLS])
def test_every_other_control_byte_is_refused(byte: int) -> None:
    with pytest.raises(PaperError):
        escp9(bytes([byte]), form=F(11))


KNOWN_COMMANDS = b"@PMg203AJCNOGHEFx$t(67RU"


@pytest.mark.parametrize("byte", [b for b in range(256) if b not in KNOWN_COMMANDS])
def test_every_other_command_is_refused(byte: int) -> None:
    with pytest.raises(PaperError):
        escp9(b"\x1b" + bytes([byte]) + b"\x01\x01\x01", form=F(11))


@pytest.mark.parametrize(
    "stream",
    [
        b"\x1b",
        b"\x1b3",
        b"\x1bA",
        b"\x1bJ",
        b"\x1bC",
        b"\x1bC\x00",
        b"\x1bN",
        b"\x1bx",
        b"\x1b$",
        b"\x1b$\x01",
        b"\x1bt",
        b"\x1bR",
        b"\x1bU",
        b"\x1b(",
        b"\x1b(t",
        b"\x1b(t\x03\x00\x01\x03",
    ],
)
def test_a_command_cut_short_is_refused(stream: bytes) -> None:
    with pytest.raises(PaperError, match="ends inside"):
        escp9(stream, form=F(11))


@pytest.mark.parametrize("stream", [b"\x1bx\x02", b"\x1bx2", b"\x1bU\x02", b"\x1bU\x2f", b"\x1bt\x02"])
def test_a_switch_is_nought_or_one(stream: bytes) -> None:
    with pytest.raises(PaperError):
        escp9(stream)


def test_an_error_says_where() -> None:
    with pytest.raises(PaperError, match="byte 3: 09 hex"):
        escp9(b"ABC\tD")


def test_a_language_that_is_not_here() -> None:
    with pytest.raises(ValueError, match="no such language"):
        read(b"", "ppds")


# Plain text


def test_plain_text_is_ten_to_the_inch_and_six_lines() -> None:
    paper = read(b"A B\r\n\r\n  C\r", "plain")
    assert places(paper) == [(F(0), F(0), "A"), (F(2, 10), F(0), "B"), (F(2, 10), F(2, 6), "C")]
    assert {s.pitch for s in paper.strikes} == {F(10)}
    assert paper.fed == F(2, 6)


def test_plain_text_counts_a_form_in_lines() -> None:
    form = b"A\r" + b"\r\n" * 42
    paper = read(form * 3, "plain")
    assert paper.fed == 21
    assert [places(Paper(paper.form(n, F(7)))) for n in range(3)] == [[(F(0), F(0), "A")]] * 3


def test_plain_ff_needs_the_switch() -> None:
    with pytest.raises(PaperError, match="never set"):
        read(b"\x0c", "plain")
    assert read(b"A\r\n\x0cB\r", "plain", form=F(7)).fed == 7


@pytest.mark.parametrize("byte", [b for b in [*range(0x20), 0x7F, *range(0x80, 0xA0), 0xFF] if b not in b"\r\n\x0c"])
def test_plain_text_takes_no_other_control(byte: int) -> None:
    with pytest.raises(PaperError):
        read(bytes([byte]), "plain", form=F(11))


def test_plain_text_takes_printable_characters_only_from_the_table() -> None:
    assert text(read(b"\xa5\r", "plain")) == "Ñ"
    assert text(read(b"\x9c\r", "plain", upper_prints=True)) == "£"


def test_plain_text_never_holds_flow_control() -> None:
    for stream in (b"\x11", b"\x13"):
        with pytest.raises(NeverSendError):
            read(stream, "plain")


# Forms and boxes


def test_forms_are_counted_from_nought_and_y_from_their_own_top() -> None:
    paper = escp9(b"\x1bC\x06A\r\n\r\nB\r\x0cC\r\n\r\n\r\n\r\n\r\nD\r\x0cE\r")
    assert places(Paper(paper.form(0, F(1)))) == [(F(0), F(0), "A"), (F(0), F(2, 6), "B")]
    assert places(Paper(paper.form(1, F(1)))) == [(F(0), F(0), "C"), (F(0), F(5, 6), "D")]
    assert places(Paper(paper.form(2, F(1)))) == [(F(0), F(0), "E")]
    assert paper.form(3, F(1)) == []


def test_forms_of_an_inexact_length_are_divided_at_the_printers_steps() -> None:
    # 92 mm is 782 + 82/254 steps of 1/216 in: the second form is fed to step 782, the fifth to 3129.
    length, step = F(920, 254), F(1, 216)
    feeds = [782, 782, 783, 782]
    stream = b"A\r"
    for steps in feeds:
        stream += b"\x1bJ\xff" * 3 + b"\x1bJ" + bytes([steps - 765 - 2]) + b"\x1bJ\x02" + b"A\r"
    paper = escp9(stream)
    for n in range(5):
        assert places(Paper(paper.form(n, length, step=step))) == [(F(0), F(0), "A")]
    assert paper.fed == F(3129, 216)
    assert paper.form(4, length) == []


def test_text_in_a_box_has_blanks_for_empty_cells() -> None:
    paper = escp9(b"   **12 3\r")
    assert paper.text_at(0, F(7), F(2, 10), F(0), F(8, 10)) == " **12 3 "
    assert paper.text_at(0, F(7), F(3, 10), F(0), F(4, 10)) == "**12"
    assert paper.text_at(0, F(7), F(3, 10), F(0), F(7, 10)) == "**12 3 "
    assert paper.text_at(0, F(7), F(2), F(0), F(1)) == ""
    assert paper.text_at(0, F(7), F(0), F(1, 6), F(1)) == ""
    assert paper.text_at(1, F(7), F(0), F(0), F(1)) == ""


def test_text_in_a_box_is_read_from_left_to_right_however_it_was_struck() -> None:
    paper = escp9(b"\x1b$\x0c\x00C\rA\rAB\r")
    assert paper.text_at(0, F(7), F(0), F(0), F(3, 10)) == "ABC"


def test_text_in_a_box_uses_the_commonest_pitch() -> None:
    # Four cells of 7/120 in, then an empty place of three such cells, then one character at 10 to the inch.
    paper = escp9(b"\x0fABCD   \x12E\r")
    assert paper.text_at(0, F(7), F(0), F(0), F(49, 120) + F(1, 10)) == "ABCD   E"


def test_two_characters_in_one_place_cannot_be_read() -> None:
    for stream in (b"A\rB\r", b"AB\r\x1b$\x03\x00C\r"):
        with pytest.raises(PaperError, match="one place"):
            escp9(stream).text_at(0, F(7), F(0), F(0), F(1))


def test_text_on_a_later_form() -> None:
    paper = escp9(b"\x1bC\x2a" + b"\x0c".join(b"\r\n\r\n\x1b$\x2c\x01" + b"10050%d\r" % n for n in (1, 2, 3)))
    read_back = [paper.text_at(n, F(7), F(5), F(2, 6), F(6, 10)) for n in range(3)]
    assert read_back == ["100501", "100502", "100503"]
