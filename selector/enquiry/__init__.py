"""What is asked of one joint on a board, read from a verb or a page, answered, and told in rows that both show."""
