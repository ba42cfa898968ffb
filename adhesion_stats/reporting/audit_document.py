"""The document of an audit, from the contents of audit.json alone: the answer first, then everything it rests on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TypedDict, cast

from adhesion_stats.reporting.model import (
    Block,
    Cell,
    Column,
    Decision,
    Document,
    Facts,
    Figure,
    Items,
    Line,
    Paragraph,
    Row,
    Section,
    Severe,
    Table,
)
from adhesion_stats.reporting.numbers import count
from adhesion_stats.reporting.results import MessageDict
from adhesion_stats.reporting.second_opinion import (
    SecondOpinionDict,
    second_opinion_lines,
    second_opinion_section,
)
from adhesion_stats.reporting.sections.parts import cell, line, sentence, table
from adhesion_stats.reporting.words import fill, word
from adhesion_stats.wording import SENTENCES

__all__ = ["audit_document", "audit_page", "audit_text", "comparison_text"]

_MOST_ROWS = 200


class _Message(MessageDict):
    file: str | None


class _Difference(TypedDict):
    path: str
    recorded: object
    recomputed: object
    relative: float | None


class _Comparison(TypedDict):
    entries: int
    inexact: int
    largest: float
    number_of_differences: int
    differences: list[_Difference]


class _Change(TypedDict):
    what: str
    recorded: str
    recomputed: str


class _CellChange(TypedDict):
    cell: str
    what: str
    lines: list[str]


class _Record(TypedDict):
    folder: str
    manifest_sha256: str
    files: dict[str, str]


class _Audit(TypedDict):
    format: str
    format_version: int
    outcome: str
    record: _Record
    messages: list[_Message]
    comparison: _Comparison | None
    changes: list[_Change]
    versions: dict[str, list[str | None]]
    cells: list[_CellChange]
    new_findings: list[MessageDict]
    second_opinion: SecondOpinionDict | None


def _typed(audit: Mapping[str, object]) -> _Audit:
    if (audit.get("format"), audit.get("format_version")) != ("adhesion_stats audit", 1):
        raise ValueError("expected the contents of an audit.json, version 1")
    return cast("_Audit", audit)


def audit_document(audit: Mapping[str, object]) -> Document:
    """The document of an audit. Raises ValueError for another format."""
    data = _typed(audit)
    record = data["record"]
    head = (
        (word("a_folder"), cell(record["folder"])),
        (word("a_manifest"), cell(record["manifest_sha256"] or word("nothing"))),
    )
    return Document(
        language=word("language"),
        title=word("a_title").format(folder=record["folder"]),
        subtitle=word("a_kind"),
        banner="",
        head=Facts(head, role="head"),
        sections=(
            _answer(data),
            second_opinion_section(data.get("second_opinion")),
            _numbers(data),
            _made_with(data),
            _limits(),
            _files(data),
        ),
    )


def audit_page(audit: Mapping[str, object]) -> str:
    """The document of an audit as a page, to be written as UTF-8."""
    from adhesion_stats.reporting.page import document_page

    def no_figure(figure: Figure, narrow: bool) -> str:
        raise ValueError(f"an audit draws nothing: {figure.kind!r} (narrow: {narrow})")

    return document_page(audit_document(audit), no_figure, skip=word("a_skip"))


def _answer(data: _Audit) -> Section:
    outcome = data["outcome"].replace(" ", "_")
    blocks: list[Block] = [Decision(line(word(f"a_is_{outcome}")), "", line(word(f"a_says_{outcome}")))]
    comparison = data["comparison"]
    if comparison is not None:
        blocks.append(Paragraph(_compared(comparison)))
    if data["changes"]:
        rows = [
            Row((cell(c["what"]), cell(c["recorded"]), cell(c["recomputed"]))) for c in data["changes"][:_MOST_ROWS]
        ]
        blocks.append(table(word("a_t_changes"), _columns("a_c_what", "a_c_recorded", "a_c_recomputed"), rows))
    if data["messages"]:
        blocks.append(_messages(word("a_t_messages"), data["messages"]))
    if data["new_findings"]:
        blocks.append(Items(word("a_new_findings"), tuple(line(text) for text in _said(data["new_findings"]))))
    return Section(word("a_h_answer"), "decision", tuple(blocks))


def _compared(comparison: _Comparison) -> tuple[str, ...]:
    differing = comparison["number_of_differences"]
    key = "a_all_agree" if not differing else "a_some_differ"
    parts = fill(key, entries=count(comparison["entries"]), differing=count(differing))
    if comparison["inexact"]:
        largest = f"{comparison['largest']:.0e}"
        parts = (*parts, " ", *fill("a_inexact", inexact=count(comparison["inexact"]), largest=largest))
    return tuple(str(part) for part in parts)


def _columns(*keys: str) -> list[Column]:
    return [Column(word(key), wide=key in {"a_c_finding", "a_c_path"}) for key in keys]


def _messages(caption: str, messages: Sequence[_Message]) -> Table:
    rows = [
        Row(
            (
                cell(Severe(m["severity"], word(f"severity_{m['severity']}"))),
                cell(m["file"] or word("nothing")),
                cell(_sentence(m)),
            )
        )
        for m in messages
    ]
    return table(caption, _columns("c_severity", "c_file", "a_c_finding"), rows)


def _sentence(message: MessageDict) -> str:
    """The message in words; a record of another version may hold one that has none here."""
    return sentence(message) if message["code"] in SENTENCES else word("a_no_words").format(code=message["code"])


def _said(messages: Sequence[MessageDict]) -> Iterator[str]:
    yield from dict.fromkeys(_sentence(message) for message in messages)


def _numbers(data: _Audit) -> Section:
    comparison = data["comparison"]
    blocks: list[Block] = []
    if comparison is None:
        blocks.append(Paragraph((word("a_not_compared"),)))
    elif comparison["differences"]:
        rows = [_difference(d) for d in comparison["differences"][:_MOST_ROWS]]
        columns = _columns("a_c_path", "a_c_recorded", "a_c_recomputed", "a_c_relative")
        blocks.append(table(word("a_t_differences"), columns, rows))
        more = comparison["number_of_differences"] - len(rows)
        if more > 0:
            blocks.append(Paragraph(fill("n_more", n=count(more)), role="note"))
    else:
        blocks.append(Paragraph((word("a_no_difference"),)))
    for changed in data["cells"]:
        caption = word("a_t_cell").format(cell=changed["cell"], what=word(f"a_cell_{changed['what']}"))
        blocks.append(table(caption, _columns("a_c_line"), [Row((_code(changed["lines"]),))]))
    return Section(word("a_h_numbers"), "numbers", tuple(blocks))


def _difference(found: _Difference) -> Row:
    relative = word("nothing") if found["relative"] is None else f"{found['relative']:.1e}"
    return Row(
        (cell(found["path"]), cell(_value(found["recorded"])), cell(_value(found["recomputed"])), cell(relative))
    )


def _value(value: object) -> str:
    text = value if isinstance(value, str) else repr(value)
    return text if len(text) <= 120 else f"{text[:119]}…"


def _code(lines: Sequence[str]) -> Cell:
    return Cell(tuple(Line((text,)) for text in lines))


def _made_with(data: _Audit) -> Section:
    if not data["versions"]:
        return Section(word("a_h_versions"), "versions", (Paragraph((word("a_same_versions"),)),))
    rows = [
        Row((cell(name), cell(recorded or word("nothing")), cell(here or word("nothing"))))
        for name, (recorded, here) in sorted(data["versions"].items())
    ]
    columns = _columns("a_c_name", "a_c_recorded", "a_c_here")
    return Section(word("a_h_versions"), "versions", (table(word("a_t_versions"), columns, rows),))


def _limits() -> Section:
    return Section(
        word("h_cautions"),
        "cautions",
        (
            Paragraph((word("a_limit_sender"),)),
            Paragraph((word("a_limit_pulls"),)),
            Paragraph((word("c_always"),), role="warning"),
        ),
    )


def _files(data: _Audit) -> Section:
    rows = [Row((cell(name), cell(digest))) for name, digest in data["record"]["files"].items()]
    return Section(word("a_h_files"), "files", (table(word("a_t_files"), _columns("c_file", "c_hash"), rows),))


def audit_text(audit: Mapping[str, object]) -> str:
    """The answer in plain lines for a terminal, of what the document says at length."""
    from adhesion_stats.reporting.terminal import WIDTH, visible, wrapped

    data = _typed(audit)
    outcome = data["outcome"].replace(" ", "_")
    lines = [f"{word(f'a_is_{outcome}')}. {word(f'a_says_{outcome}')}"]
    if data["comparison"] is not None:
        lines.append("".join(_compared(data["comparison"])))
    lines += [word("a_change").format(**change) for change in data["changes"][:20]]
    if len(data["changes"]) > 20:
        lines.append(word("n_more").format(n=len(data["changes"]) - 20))
    lines += [f"{message['severity']}: {_sentence(message)}" for message in data["messages"]]
    new = word("a_new_finding")
    lines += [f"{new}: {text}" for text in _said(data["new_findings"])]
    whole = [part for text in lines for part in wrapped(visible(text), WIDTH)]
    second = data.get("second_opinion")
    if second is not None:
        whole += second_opinion_lines(second)
    hashed = f"{word('a_manifest')}: {data['record']['manifest_sha256'] or word('nothing')}"
    return "\n".join([*whole, *wrapped(hashed, WIDTH)])


def comparison_text(audit: Mapping[str, object], first: str, second: str) -> str:
    """What differs between two records, in plain lines: decisions first, then entries."""
    from adhesion_stats.reporting.terminal import WIDTH, visible, wrapped

    data = _typed(audit)
    comparison = data["comparison"]
    assert comparison is not None  # two records with results
    differing, entries = comparison["number_of_differences"], comparison["entries"]
    lines = [
        word("a_against" if differing else "a_against_same").format(
            first=first, second=second, differing=differing, entries=entries
        )
    ]
    lines += [f"{c['what']}: {c['recorded']} | {c['recomputed']}" for c in data["changes"]]
    lines += [
        f"{d['path']}: {_value(d['recorded'])} | {_value(d['recomputed'])}"
        for d in comparison["differences"][:_MOST_ROWS]
    ]
    if differing > _MOST_ROWS:
        lines.append(word("n_more").format(n=differing - _MOST_ROWS))
    return "\n".join(part for text in lines for part in wrapped(visible(text), WIDTH))
