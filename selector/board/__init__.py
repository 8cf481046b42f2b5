"""What a brief switches on: the calculations on the board as verdicts and as figures that criteria weigh."""
