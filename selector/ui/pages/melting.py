"""How alloys melt, as computed: one to four compositions, or two mixed."""

from selector.ui.views import melting

melting.show()
