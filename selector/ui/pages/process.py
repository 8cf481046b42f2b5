"""The reflow window, the print, and what they cost in energy, carbon and money."""

from selector.ui.views import process

process.show()
