"""Where a mixed joint melts, and what stops it."""

from selector.ui.views import joint

joint.show()
