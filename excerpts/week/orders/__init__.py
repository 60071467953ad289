"""Everything in notes that a week asks for, as one list: a workbook prints what it makes, `check` makes all of it.

So whatever a workbook refuses or leaves out, `check` has told.
"""

from excerpts.week.orders.boxes import BoxOrders
from excerpts.week.orders.everything import Orders
from excerpts.week.orders.exercises import CheckOrders, DrillOrders, ScaleOrders, StudyOrders
from excerpts.week.orders.order import Guard, Order, ReasonsError, Trouble
from excerpts.week.orders.pieces import part_of

__all__ = [
    "BoxOrders",
    "CheckOrders",
    "DrillOrders",
    "ReasonsError",
    "Guard",
    "Order",
    "Orders",
    "ScaleOrders",
    "StudyOrders",
    "Trouble",
    "part_of",
]
