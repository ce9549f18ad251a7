from __future__ import annotations

import random

from .benches import celsius, columns, count, lines, watch

TWO = [count("raw", 0), celsius("t", 1)]


def rows(n: int, *, seed: int = 3) -> list[str]:
    chance = random.Random(seed)
    return [f"{92 - i // 40},{44.9 - i / 80 + chance.gauss(0, 0.03):.2f}" for i in range(n)]


def test_lines_that_fit_no_layout_are_told() -> None:
    told = watch(lines(["92;44.90;1"] * 80), TWO, layout=columns(2))
    assert told.kinds == [("unreadable lines", "")]
    assert "92;44.90;1" in told.changes[0].finding.evidence


def test_a_program_that_only_waits_is_told_in_its_own_words() -> None:
    told = watch(lines(["No sensor found, check the wires"] * 20, every=1.0), TWO, layout=columns(2))
    assert told.kinds == [("unreadable lines", "")]
    assert "No sensor found" in told.changes[0].finding.evidence


def test_a_long_greeting_is_not_told() -> None:
    greeting = lines(
        ["Hello", "Foil group", "program 3", "sensor on A0", "please wait", "3", "2", "1"], every=0.8
    )
    assert watch(greeting + lines(rows(60), start=7.0), TWO).events == []


def test_lines_that_fit_again_clear() -> None:
    steps = lines(["92;44.90;1"] * 60) + lines(rows(40), start=15.0)
    told = watch(steps, TWO)
    assert [event for _, event, *_ in told.events if event != "changed"] == ["found", "gone"]


def test_one_damaged_line_now_and_then_is_told_as_a_hint_and_clears() -> None:
    texts = rows(300)
    for i in range(40, 120, 6):
        texts[i] = texts[i][:3] + "\x1f" + texts[i][4:]
    told = watch(lines(texts), TWO)
    assert told.kinds == [("unreadable lines", "")]
    assert told.changes[0].finding.weight == "hint"
    assert told.events[-1][1] == "gone"


def test_two_damaged_lines_are_not_told() -> None:
    texts = rows(300)
    texts[50] = texts[90] = "9\x1f,44.2"
    assert watch(lines(texts), TWO).events == []


def test_a_status_line_that_belongs_to_the_program_is_no_damage() -> None:
    texts = [
        text
        for i, row in enumerate(rows(200))
        for text in ([row, f"sample {i} done"] if i % 4 == 0 else [row])
    ]
    assert watch(lines(texts), TWO).events == []


def test_a_degree_sign_of_one_byte_is_told_until_it_is_gone() -> None:
    from bridge.core.lesson import FieldSpec, Layout

    layout = Layout(name="t", kind="pairs", separator=",", fields=(FieldSpec(name="t", unit="°C"),))
    one_byte = [(i * 0.5, f"t: {45 - i / 50:.2f} \xb0C\r\n".encode("latin-1")) for i in range(20)]
    utf8 = [(10 + i * 0.5, f"t: {45 - i / 50:.2f} °C\r\n".encode()) for i in range(30)]
    told = watch(one_byte + utf8, [celsius("t")], layout=layout)
    assert [(event, kind) for _, event, kind, _ in told.events] == [
        ("found", "no UTF-8"),
        ("gone", "no UTF-8"),
    ]
    assert watch(utf8, [celsius("t")], layout=layout, opened=10.0).events == []
