"""The answer: what to do, leave and ask about, with the figures behind it.

Every Money here was rounded once, from the exact figure; ``k`` and hours are exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fractions import Fraction

    from recondition.amounts import Money
    from recondition.worth.ready import Readiness
    from recondition.worth.risk import Risk


TOO_LATE = "cannot be ready by"


class Verdict(StrEnum):
    """What is advised for one piece of candidate work."""

    DO = "do"
    LEAVE = "leave"
    ASK = "ask"


@dataclass(frozen=True, slots=True)
class Spread:
    """Low, mean and high; the mean knows of failure, low and high are the cases without one."""

    low: Money
    mean: Money
    high: Money


@dataclass(frozen=True, slots=True, kw_only=True)
class Flip:
    """Where the advice on one item turns, the rest of the question as it is.

    Work of the plan stays in it while its expected cost is below ``cost`` and its expected
    uplift above ``uplift``; work that is left comes into it beyond them. ``cost`` is None where
    no cost would do, ``uplift`` where the work cannot be in any allowed set. ``proven`` says
    that both searches behind it were finished; else the figure is bounded by ``within``.
    """

    cost: Money | None
    uplift: Money | None
    proven: bool
    within: Money


@dataclass(frozen=True, slots=True, kw_only=True)
class Figures:
    """The figures of one item.

    ``uplift`` and ``break_even_uplift`` are on the basis of the sale terms. ``gain`` is what
    the seller keeps less the cost (low = low uplift with high cost), and ``break_even_uplift``
    is the smallest addition to the price that pays for the item: both on top of the rest of
    the plan for an item in it, on its own for any other. ``single_net`` is the expected net
    on its own whatever it needs. ``marginal_net`` is the best allowed net with the item
    forced in less the best with it forced out; None when no allowed set holds it.
    """

    cost: Spread
    uplift: Spread
    gain: Spread
    break_even_uplift: Money
    single_net: Money
    marginal_net: Money | None
    flip: Flip | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemAdvice:
    """The advice on one item; ``figures`` is None for work left without an estimate."""

    item: str
    ref: str
    verdict: Verdict
    reason: str
    figures: Figures | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """One set of items and what it is worth; ids in the order of their refs.

    ``net_low`` takes low uplift with high cost and no failure, ``net_high`` the reverse.
    ``holding`` is what the day of finish pays where the vehicle sells when ready; it stands in
    every net, beside ``cost``.
    """

    items: tuple[str, ...]
    net: Money
    uplift: Money
    cost: Money
    net_low: Money
    net_likely: Money
    net_high: Money
    break_even_uplift: Money
    hours_mean: Fraction
    holding: Money
    uplift_low: Money
    uplift_high: Money


@dataclass(frozen=True, slots=True)
class LimitUse:
    """One limit and what the plan takes of it: money, or hours as an exact number."""

    name: str
    most: Money | Fraction
    used: Money | Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What is worth doing to one vehicle.

    ``plan`` is the choice; ``runner_up`` the best other allowed set by net alone, so it can
    stand above the plan when an indifference was used; ``given_up`` is what that cost.
    ``without_asking`` is the best plan of items that need no asking, and the plan itself
    where nothing asks. ``everything`` is the largest set that the requirements and
    exclusions permit, limits ignored: the most items, of those the dearest, so that of two
    items that exclude each other the dearer one stays. ``k`` is the seller's share of each
    unit of uplift, None where slices make it vary. ``items`` covers all work not done. No
    allowed set is worth more than ``gap`` above the best one found: zero where it is proven.
    """

    plan: Plan
    items: tuple[ItemAdvice, ...]
    done: tuple[str, ...]
    runner_up: Plan | None
    without_asking: Plan
    everything: Plan
    given_up: Money
    k: Fraction | None
    basis: str
    rate: Money
    rate_name: str
    limits: tuple[LimitUse, ...]
    notes: tuple[str, ...]
    gap: Money
    risk: Risk
    ready: Readiness

    @property
    def proven(self) -> bool:
        """Tell whether no allowed set is worth more than the best one found."""
        return self.gap.minor == 0

    @property
    def chosen(self) -> tuple[str, ...]:
        """The ids of the plan, those to ask about included."""
        return self.plan.items


def sentence(advice: Advice) -> str:
    """Say the advice in one sentence."""
    do, ask, leave = (
        _named(advice, verdict) for verdict in (Verdict.DO, Verdict.ASK, Verdict.LEAVE)
    )
    rest = f"; leave {leave}" if leave else ""
    if not advice.chosen:
        late = any(item.reason.startswith(TOO_LATE) for item in advice.items)
        pays = "no open work both pays and can be ready in time" if late else (
            "no open work is expected to pay"
        )  # fmt: skip
        why = pays if leave else "no work is open"
        return f"Do nothing: {why}{rest}."
    orders = [f"do {do}"] * bool(do) + [f"ask before {ask}"] * bool(ask)
    head = " and ".join(orders)
    net, cost = with_currency(advice.plan.net), with_currency(advice.plan.cost)
    return f"{head[0].upper()}{head[1:]}: expected to add {net} after {cost} of cost{rest}."


def with_currency(money: Money) -> str:
    """Write an amount for reading: ``9,839.63 USD``."""
    return f"{money.grouped} {money.currency}"


def listed(names: list[str]) -> str:
    """Write names as people do: ``A, B and C``."""
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def _named(advice: Advice, verdict: Verdict) -> str:
    return listed([item.ref for item in advice.items if item.verdict is verdict])
