"""What service does to the joint of one alloy, everything of durability in one answer."""
