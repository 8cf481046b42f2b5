"""The shortlist of the open brief."""

from selector.ui.views import shortlist

shortlist.show()
