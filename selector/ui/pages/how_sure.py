"""How sure the order is: who may overtake, what would change it, what would settle it."""

from selector.ui.views import how_sure

how_sure.show()
