"""What the board brings into the joint: lead, bismuth and balls that do not melt."""
