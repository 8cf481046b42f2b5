"""The catalogue."""

from selector.ui.views import alloys

alloys.show()
