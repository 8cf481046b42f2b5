"""What service does to the joint of one alloy, screened."""

from selector.ui.views import life

life.show()
