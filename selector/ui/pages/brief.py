"""What the product demands: fields, parts, markets and bans; open, save and share."""

from selector.ui.views import brief

brief.show()
