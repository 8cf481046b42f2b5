"""Soldering steps: which alloys may follow each other, as a temperature ladder."""

from selector.ui.views import steps

steps.show()
