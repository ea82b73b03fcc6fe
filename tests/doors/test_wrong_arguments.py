"""What nobody should give at a promised door is refused there, in the package's own words."""

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from configurator import ConfiguratorError, Money, Shop, open_shop, to_json

_SHOP = open_shop()
_BUILD = _SHOP.build({"format": 1, "catalogue": "quandong", "picks": {"vehicle": "mid-dual"}})
_LONG = 10**5000


def _given(path: Any) -> Any:
    """The path, or another that is none where None leaves the argument out."""
    return 0 if path is None else path


_PATHS: dict[str, Callable[[Any, Path], object]] = {
    "Build.save": lambda path, _: _BUILD.save(path),
    "Shop.write": lambda path, _: _SHOP.write(_BUILD.check(), path),
    "Shop.write(templates=)": lambda path, at: _SHOP.write(
        _BUILD.price(),
        at / "a.html",
        templates=_given(path),
    ),
    "Shop.new": lambda path, _: Shop.new(path, "A", ["a"]),
    "Shop.requote": lambda path, _: _SHOP.requote(_given(path)),
    "Shop.batch": lambda path, at: _SHOP.batch(path, at, _SHOP.day),
    "Shop.export": lambda path, _: _SHOP.export(path),
    "Shop.prices": lambda path, _: _SHOP.prices(path),
}


@pytest.mark.parametrize("path", [None, 7, b"x.json", "\0x.json", "\ud800.json", []], ids=repr)
@pytest.mark.parametrize("door", _PATHS)
def test_what_no_file_is_called(door: str, path: object, tmp_path: Path) -> None:
    with pytest.raises(ConfiguratorError, match=r"; give a(nother name| path)"):
        _PATHS[door](path, tmp_path)
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("count", [0, -3, "2", True], ids=repr)
def test_no_number_of_processes(count: Any, tmp_path: Path) -> None:
    _BUILD.save(tmp_path / "a.yaml")
    with pytest.raises(ConfiguratorError, match=r"^processes is .*; give "):
        _SHOP.requote(tmp_path, processes=count)
    with pytest.raises(ConfiguratorError, match=r"^processes is .*; give "):
        _SHOP.batch(tmp_path, tmp_path / "out", _SHOP.day, processes=count)


@pytest.mark.parametrize(
    "ask",
    [
        lambda: _BUILD.pick("canopy-height", "1000mm", _LONG),
        lambda: _BUILD.place("upright-fridge", x=_LONG),
        lambda: _BUILD.travel(people=_LONG),
        lambda: _BUILD.options("canopy-height", effort=_LONG),  # type: ignore[arg-type]
        lambda: _BUILD.complete(None),  # type: ignore[arg-type]
        lambda: Money(_LONG, "AUD"),  # type: ignore[arg-type]
        lambda: Money(Decimal(1), _LONG),  # type: ignore[arg-type]
        lambda: Money(Decimal(1), []),  # type: ignore[arg-type]
        lambda: to_json(Decimal("Infinity")),
    ],
    ids=range(9),
)
def test_a_value_that_means_nothing(ask: Callable[[], object]) -> None:
    with pytest.raises(ConfiguratorError) as told:
        ask()
    assert len(str(told.value)) < 200
