from __future__ import annotations

import threading
from itertools import chain, repeat

import pytest

from bridge.inbox import Arrived, Inbox

DEADLINE_SECONDS = 20.0


class Clock:
    """Shows what it is set to."""

    def __init__(self) -> None:
        self.now_ns = 0

    def __call__(self) -> int:
        return self.now_ns


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def wakes() -> list[str]:
    return []


@pytest.fixture
def inbox(clock: Clock, wakes: list[str]) -> Inbox:
    return Inbox(clock, lambda: wakes.append("wake"), max_bytes_waiting=10)


def test_items_come_out_in_the_order_in_which_they_were_put(inbox: Inbox, clock: Clock) -> None:
    clock.now_ns = 5
    inbox.tell(2, "open", words="it is open", remedy="nothing", breaks=True, port="COM3", baud=9600)
    clock.now_ns = 7
    inbox.put(1, b"21.5")
    clock.now_ns = 9
    now_ns, items = inbox.take()
    assert now_ns == 9
    assert items == [(5, 2, "open", "it is open", "nothing", True, "COM3", 9600), Arrived(7, 1, b"21.5")]
    assert inbox.take() == (10, [])


def test_nothing_stamped_at_or_before_a_taken_now_comes_later(inbox: Inbox, clock: Clock) -> None:
    clock.now_ns = 100  # and there it stands, as a coarse clock does
    now_ns, _ = inbox.take()
    inbox.put(1, b"x")
    _, (item,) = inbox.take()
    assert item.at_ns > now_ns


def test_stamps_never_go_back_even_if_the_clock_does(inbox: Inbox, clock: Clock) -> None:
    for clock.now_ns in (50, 40, 60):
        inbox.put(1, b"x")
    clock.now_ns = 10
    now_ns, items = inbox.take()
    assert [item.at_ns for item in items] == [50, 50, 60]
    assert now_ns >= 60


def test_it_wakes_once_however_much_comes_before_the_next_take(inbox: Inbox, wakes: list[str]) -> None:
    inbox.put(1, b"a")
    inbox.put(2, b"b")
    inbox.tell(1, "lost")
    assert wakes == ["wake"]
    inbox.take()
    inbox.tell(1, "open")
    inbox.put(1, b"c")
    assert wakes == ["wake", "wake"]


def test_it_tells_how_many_bytes_wait(inbox: Inbox) -> None:
    inbox.put(1, b"abc")
    inbox.put(2, b"de")
    assert inbox.n_bytes_waiting == 5
    inbox.take()
    assert inbox.n_bytes_waiting == 0


@pytest.mark.parametrize("bound", [{"max_bytes_waiting": 10}, {"max_items_waiting": 2}], ids=str)
def test_a_full_inbox_holds_the_reader_up_and_drops_nothing(bound: dict[str, int]) -> None:
    something = threading.Event()
    inbox = Inbox(lambda: 0, something.set, **bound)
    words = [b"%05d" % i for i in range(50)]

    def read() -> None:
        for word in words:
            inbox.put(1, word)

    reader = threading.Thread(target=read)
    reader.start()
    taken: list[bytes] = []
    while len(taken) < len(words):
        assert something.wait(DEADLINE_SECONDS), "it slept over something"
        something.clear()
        _, items = inbox.take()
        assert len(items) <= 2  # five bytes each
        taken += [item.data for item in items if isinstance(item, Arrived)]
    reader.join(DEADLINE_SECONDS)
    assert taken == words


def test_closing_lets_a_waiting_reader_go_and_wakes_nobody(inbox: Inbox, wakes: list[str]) -> None:
    inbox.put(1, b"0123456789")
    reader = threading.Thread(target=inbox.put, args=(1, b"more"))
    reader.start()
    inbox.close()
    reader.join(DEADLINE_SECONDS)
    assert not reader.is_alive()
    inbox.tell(1, "lost")
    _, items = inbox.take()
    assert [item.at_ns for item in items] == [0]
    assert wakes == ["wake"]


def test_many_threads_lose_nothing_and_each_keeps_its_order() -> None:
    something = threading.Event()
    ticks = chain.from_iterable(repeat(n, 3) for n in range(10**9))  # each instant is shown three times
    inbox = Inbox(ticks.__next__, something.set)
    n_threads, n_each = 8, 500

    def read(bench: int) -> None:
        for i in range(n_each):
            inbox.put(bench, b"%d" % i)

    threads = [threading.Thread(target=read, args=(bench,)) for bench in range(n_threads)]
    for thread in threads:
        thread.start()
    items: list[Arrived] = []
    before_ns = -1
    while len(items) < n_threads * n_each:
        assert something.wait(DEADLINE_SECONDS), "it slept over something"
        something.clear()
        now_ns, new = inbox.take()
        stamps = [item.at_ns for item in new]
        assert stamps == sorted(stamps)
        assert all(before_ns < stamp <= now_ns for stamp in stamps)
        before_ns = now_ns
        items += [item for item in new if isinstance(item, Arrived)]
    for bench in range(n_threads):
        assert [item.data for item in items if item.bench == bench] == [b"%d" % i for i in range(n_each)]
