"""Of sets that are worth enough, the one that touches least."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from recondition.worth.master import Aim, Wish
from recondition.worth.search import Best, Search, finish_of
from recondition.worth.weighing import Items


def least_touching(search: Search, wish: Wish, best: Best, floor: Fraction) -> Items:
    """Give, of the sets worth at least ``floor``, the one that touches least.

    Fewer irreversible items, fewer panels, an earlier end, less cash, fewer items, then ids in
    order; each is settled before the next is looked at.
    """
    chosen = best.items
    wish = replace(wish, floor=floor)
    if _lone(search, wish, chosen):
        return chosen
    for aim in (Aim.TOUCH, Aim.END, Aim.CASH, Aim.COUNT):
        if aim is Aim.END and not search.problem.serial:
            search, chosen = _earliest(search, wish, chosen)
        else:
            chosen, value = _least(search, replace(wish, aim=aim))
            wish = replace(wish, keep=(*wish.keep, (aim, value)))
        if _lone(search, wish, chosen):
            return chosen
    inside: Items = frozenset()
    for item in search.master.items:
        tried = inside | {item}
        if tried <= chosen:
            inside = tried
            continue
        found = _any(search, replace(wish, aim=Aim.COUNT, inside=wish.inside | tried))
        if found is not None:
            inside, chosen = tried, found
    return chosen


def _lone(search: Search, wish: Wish, chosen: Items) -> bool:
    """Tell whether a set is the only one that a wish allows."""
    asked = replace(wish, aim=Aim.COUNT, others=(*wish.others, chosen))
    return _any(search, asked) is None


def _any(search: Search, wish: Wish) -> Items | None:
    """Give a set that a wish allows and that can be ready, least by its aim."""
    while True:
        choice = search.master.solve(wish, seconds=search.left)
        if choice is None:
            return None
        if search.laid(choice) is not None:
            return choice.items
        if not search.learn(choice):
            wish = replace(wish, others=(*wish.others, choice.items))


def _least(search: Search, wish: Wish) -> tuple[Items, int]:
    while True:
        choice = search.master.solve(wish, seconds=search.left)
        if choice is None:
            message = "a set that was found is not allowed"
            raise AssertionError(message)
        if search.laid(choice) is not None:
            return choice.items, choice.value
        if not search.learn(choice):
            wish = replace(wish, others=(*wish.others, choice.items))


def _earliest(search: Search, wish: Wish, chosen: Items) -> tuple[Search, Items]:
    """Give the set that a wish allows and that ends earliest, and the search bound to that end."""
    end = finish_of(search, chosen).finish
    while end > 0:
        tighter = _within(search, end - 1)
        found = _any(tighter, replace(wish, aim=Aim.COUNT))
        if found is None:
            break
        chosen = found
        end = finish_of(search, chosen).finish
    return _within(search, end), chosen


def _within(search: Search, end: int) -> Search:
    """Give a search in which everything must be over by ``end``."""
    problem = search.problem
    cars = tuple(
        replace(car, wall=end if car.wall is None else min(car.wall, end)) for car in problem.cars
    )
    kept = Search(replace(problem, cars=cars), seconds=search.left)
    kept.deadline = search.deadline
    return kept
