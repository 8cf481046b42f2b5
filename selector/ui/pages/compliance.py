"""What may be sold where, on which day, and what must be declared."""

from selector.ui.views import compliance

compliance.show()
