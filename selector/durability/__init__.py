"""What service asks of the joint: heat, class, cycling, corrosion."""
