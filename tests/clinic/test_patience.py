"""Wrong passwords make the next try wait, per name and over all."""

from __future__ import annotations

from rootfill.clinic.patience import Patience
from tests.clinic.accounts import NOON, minutes, seconds


def after(count: int, name: str = "ada") -> Patience:
    patience = Patience()
    for _ in range(count):
        patience.wrong(name, NOON)
    return patience


def test_the_first_four_slips_cost_nothing_and_the_fifth_does() -> None:
    assert after(4).wait_s("ada", NOON) == 0
    assert after(5).wait_s("ada", NOON) > 0


def test_the_wait_grows_to_thirty_seconds_and_no_further() -> None:
    waits = [after(count).wait_s("ada", NOON) for count in (5, 6, 7, 8, 9, 10, 500)]
    assert waits == [2, 4, 8, 16, 30, 30, 30]


def test_the_wait_runs_out_and_is_told_in_whole_seconds_rounded_up() -> None:
    patience = after(8)
    assert patience.wait_s("ada", NOON + seconds(1.5)) == 15
    assert patience.wait_s("ada", NOON + seconds(15.5)) == 1
    assert patience.wait_s("ada", NOON + seconds(16)) == 0


def test_guessing_under_many_names_slows_every_name_down() -> None:
    patience = Patience()
    for number in range(5):
        patience.wrong(f"name {number}", NOON)
    assert patience.wait_s("ada", NOON) == 2


def test_a_right_password_ends_the_wait_and_the_count() -> None:
    patience = after(9)
    patience.right("ada")
    assert patience.wait_s("ada", NOON) == 0
    patience.wrong("ada", NOON)
    assert patience.wait_s("ada", NOON) == 0


def test_a_right_password_of_one_name_leaves_the_count_of_another() -> None:
    patience = after(9, "ben")
    patience.right("ada")
    assert patience.wait_s("ada", NOON) == 0
    assert patience.wait_s("ben", NOON) == 30


def test_old_slips_are_forgotten() -> None:
    patience = after(9)
    later = NOON + minutes(15)
    patience.wrong("ada", later)
    assert patience.wait_s("ada", later) == 0


def test_a_clock_set_back_never_lengthens_the_wait() -> None:
    assert after(5).wait_s("ada", NOON - minutes(60)) == 2
