"""The meeting: members weigh alone, then their weights are shown together."""

from selector.ui.views import panel

panel.show()
