"""Who and what stands where in each frame: the town, dressed for one picture at a time."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from making import town
from making.houses import house, shop
from making.people import Person, stand
from making.shapes import Pile
from making.stalls import chart_board, stall

Array = NDArray[np.float64]


def night(pile: Pile) -> None:
    """The wet evening, from the square."""
    town.build(pile, night=True, tram_y=13.0)
    for who in (
        Person(-1.6, 5.2, facing=160, coat="coat_camel", umbrella="umbrella_black", stride=0.16, hat=None),
        Person(4.9, 8.6, facing=-60, coat="coat_red", umbrella="umbrella_red", skin="skin_middle"),
        Person(7.6, 12.5, facing=-80, coat="coat_grey", hat="hat_black", z=0.13),
        Person(7.9, 9.4, facing=-100, coat="coat_navy", skin="skin_dark", z=0.13, bag="bag_brown"),
        Person(-4.4, 15.0, facing=10, coat="coat_black", umbrella="umbrella_black", stride=0.2),
        Person(-7.6, 20.0, facing=60, coat="coat_green", z=0.13),
    ):
        stand(pile, who)


def night_stop(pile: Pile) -> None:
    """The wet evening, at the stop."""
    town.build(pile, night=True, tram_y=11.5)
    stand(
        pile,
        Person(
            5.3,
            4.6,
            facing=-62,
            coat="coat_mustard",
            umbrella="umbrella_black",
            skin="skin_middle",
            scarf="scarf_white",
            bag="bag_brown",
        ),
    )
    stand(pile, Person(7.9, 8.2, facing=-80, coat="coat_navy", hat="hat_black", z=0.13))
    stand(pile, Person(-1.2, 14.0, facing=150, coat="coat_black", umbrella="umbrella_black", stride=0.18))


def window(pile: Pile) -> None:
    """A street of its own with the lit shop."""
    pile.quads("flags", np.array([[(-8, -2.6, 0), (12, -2.6, 0), (12, 0.3, 0), (-8, 0.3, 0)]], dtype=float))
    pile.box("kerb", (-8, -2.75, -0.2), (12, -2.6, 0.01))
    pile.quads(
        "setts",
        np.array([[(-40, -40, -0.13), (40, -40, -0.13), (40, -2.7, -0.13), (-40, -2.7, -0.13)]], dtype=float),
    )
    pile.box("plaster_ochre", (-7, 0.02, 0), (-0.36, 3, 9))
    pile.box("plaster_ochre", (3.96, 0.02, 0), (11, 3, 9))
    pile.box("plaster_ochre", (-0.4, 0.02, 3.1), (4.0, 3, 9))
    shop(pile, (0, 0, 0), 0, seed=4)
    pile.box("shopfront", (-2.2, -0.04, 0), (-1.1, 0.02, 2.5))
    for x in (-2.05, -1.6):
        pile.box("shopfront_dark", (x, -0.06, 0.2), (x + 0.38, -0.03, 2.3))
    pile.tube("iron", [(-3.6, 0.0, 3.4), (-3.6, -0.7, 3.5), (-3.6, -0.75, 3.25)], 0.03)
    pile.ball("lamp_warm", (-3.6, -0.75, 3.05), 0.16, 20)
    house(pile, (14, -16, 0), 180, width=8, floors=3, wall="plaster_grey", seed=5, lit=0.4)
    house(pile, (6, -16, 0), 180, width=8, floors=3, wall="brick", seed=6, lit=0.3)
    house(pile, (-2, -16, 0), 180, width=8, floors=2, wall="plaster_rose", seed=8, lit=0.3)
    stand(
        pile,
        Person(
            2.62,
            -1.2,
            facing=195,
            turn=42,
            coat="coat_red",
            hat="hat_black",
            hair="hair_dark",
            bag="bag_brown",
        ),
    )


def fog(pile: Pile) -> None:
    """The foggy morning, a tram coming."""
    town.build(pile, night=False, tram_y=24.0)
    for side in (-0.62, 0.62):
        pile.ball("headlight", (2.3 + side, 23.80, 0.86), (0.09, 0.05, 0.09), 18)
    for who in (
        Person(-1.9, 7.5, facing=175, coat="coat_black", hat="hat_black", stride=0.20, bag="bag_brown"),
        Person(-3.9, 14.0, facing=15, coat="coat_grey", stride=0.2),
        Person(5.2, 15.5, facing=-90, coat="coat_navy", stride=0.22),
        Person(7.4, 11.0, facing=-70, coat="coat_camel", z=0.13),
    ):
        stand(pile, who)


def fog_rails(pile: Pile) -> None:
    """The foggy morning, between the rails."""
    town.build(pile, night=False, tram_y=40.0)
    stand(pile, Person(0.25, 3.4, facing=150, coat="coat_red", umbrella="umbrella_black", stride=0.18))
    stand(pile, Person(-4.4, 17.0, facing=20, coat="coat_black", hat="hat_black", stride=0.2))


def _arcade_stalls(pile: Pile, *, cloth: bool = True) -> None:
    goods = (
        [
            "orange",
            "greens",
            "apple_red",
            "lemon",
            "greens",
            "tomato",
            "apple_green",
            "greens",
            "plum",
            "orange",
        ],
        [
            "apple_green",
            "plum",
            "greens",
            "tomato",
            "lemon",
            "greens",
            "orange",
            "apple_red",
            "greens",
            "lemon",
        ],
        [
            "greens",
            "tomato",
            "greens",
            "apple_red",
            "orange",
            "lemon",
            "greens",
            "plum",
            "apple_green",
            "tomato",
        ],
    )
    clothes = ("cloth_red", "cloth_green", "cloth_blue")
    for k, y in enumerate((4.8, 9.2, 13.6)):
        stall(
            pile,
            (town.MARKET_X + 0.75, y + 0.9, 0.13),
            90,
            goods=goods[k],
            cloth=clothes[k] if cloth else None,
            seed=40 + 20 * k,
        )


def grey_portrait(pile: Pile) -> None:
    """The market on a grey day."""
    town.build(pile, night=False, tram_y=30.0)
    _arcade_stalls(pile)
    stand(
        pile,
        Person(
            -6.75,
            8.35,
            facing=2,
            turn=14,
            stride=0.13,
            coat="coat_red",
            scarf="scarf_white",
            bag="bag_brown",
            z=0.13,
        ),
    )
    stand(pile, Person(-9.3, 12.0, facing=75, coat="coat_green", hat="hat_straw", skin="skin_dark", z=0.13))
    stand(pile, Person(-6.9, 15.2, facing=170, coat="coat_navy", stride=0.2, z=0.13))


def grey_fruit(pile: Pile) -> None:
    """A stall on a grey day."""
    town.build(pile, night=False, tram_y=30.0)
    _arcade_stalls(pile)
    stand(pile, Person(-8.3, 9.45, facing=165, coat="coat_navy", hat="hat_straw", skin="skin_dark", z=0.13))


CHART_PLACE = (-7.35, 1.2, 0.86)
CHART_TURN, CHART_LEAN = 60.0, 20.0


def chart(pile: Pile) -> None:
    """The chart on a market table."""
    town.build(pile, night=False, tram_y=30.0)
    _arcade_stalls(pile)
    pile.box("wood", (-8.3, 0.4, 0.80), (-6.5, 2.2, 0.85))
    chart_board(pile, CHART_PLACE, CHART_TURN, CHART_LEAN)
    pile.at(CHART_PLACE, CHART_TURN)
    for x, material in ((0.24, "card_grey"), (-0.24, "card_white")):
        pile.box(material, (x - 0.05, 0.02, 0), (x + 0.05, 0.03, 0.14))
    for k, fruit in enumerate(("lemon", "orange", "apple_red")):
        pile.ball(fruit, (0.215 + 0.075 * (k % 2), -0.05 - 0.05 * k, 0.035), 0.034, 24)
    pile.at((0, 0, 0))


def noon(pile: Pile) -> None:
    """The square at noon."""
    town.build(pile, night=False, tram_y=22.0)
    _arcade_stalls(pile)
    for who in (
        Person(-4.9, 4.4, facing=12, coat="coat_mustard", hat="hat_black", stride=0.2, bag="bag_brown"),
        Person(-3.0, 10.4, facing=60, coat="coat_navy", skin="skin_dark", stride=0.16),
        Person(-3.5, 10.9, facing=55, coat="coat_red", hair="hair_fair", bob=True, stride=0.12),
        Person(-6.9, 14.2, facing=80, coat="coat_grey", hat="hat_straw", z=0.13),
        Person(0.6, 17.0, facing=15, coat="coat_green", stride=0.2),
        Person(7.8, 12.0, facing=-90, coat="coat_camel", z=0.13),
        Person(-9.3, 6.0, facing=75, coat="coat_green", hat="hat_straw", skin="skin_middle", z=0.13),
    ):
        stand(pile, who)


def noon_arcade(pile: Pile) -> None:
    """The arcade at noon."""
    town.build(pile, night=False, tram_y=20.0)
    stand(
        pile,
        Person(
            -11.1, 13.2, facing=10, coat="coat_black", hat="hat_black", stride=0.22, bag="bag_brown", z=0.13
        ),
    )
    stand(pile, Person(-12.0, 27.0, facing=170, coat="coat_grey", stride=0.2, z=0.13))


def shade(pile: Pile) -> None:
    """The stop in the shade of the houses."""
    town.build(pile, night=False, tram_y=24.0)
    for who in (
        Person(
            7.75,
            7.4,
            facing=-68,
            turn=12,
            coat="coat_camel",
            skin="skin_middle",
            hat="hat_brown",
            bag="bag_brown",
            z=0.13,
        ),
        Person(8.0, 12.6, facing=-100, coat="coat_navy", hair="hair_fair", bob=True, z=0.13),
        Person(-3.6, 22.0, facing=20, coat="coat_red", stride=0.2),
    ):
        stand(pile, who)


def leaves(pile: Pile) -> None:
    """A tree before the clock tower."""
    town.build(pile, night=False, tram_y=30.0, market_tree=(-4.2, 47.2))


def chart_corners() -> Array:
    """World corners of the chart's patches, (24, 4, 3)."""
    return chart_board(Pile(), CHART_PLACE, CHART_TURN, CHART_LEAN)
