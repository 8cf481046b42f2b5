"""What is handed to someone else: plain data, charts, later the decision record."""
