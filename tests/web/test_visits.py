"""A new visit asks again what one visit cannot say of the next."""

from __future__ import annotations

from pathlib import Path

from tests.web.open_house import MB, ML, open_house


def test_dry_is_asked_again_at_a_new_visit_and_comes_back_with_its_undoing(tmp_path: Path) -> None:
    with open_house(tmp_path) as house:
        case, visitor = house.case(MB, ML), house.browser()
        visitor.send(f"/cases/{case}/say", text="mb dry, mb patent")
        assert house.kept(case).canals[0].entered["drying"] == "dry"
        visitor.send(f"/cases/{case}/visits")
        mb = house.kept(case).canals[0].entered
        assert "drying" not in mb
        assert mb["patent"] is True
        visitor.send(f"/cases/{case}/undo")
        assert house.kept(case).canals[0].entered["drying"] == "dry"
