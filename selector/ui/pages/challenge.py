"""Why not this alloy?"""

from selector.ui.views import challenge

challenge.show()
