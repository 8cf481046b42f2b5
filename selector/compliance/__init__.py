"""What may be sold where: dated rule sets judged in exact decimal arithmetic, and customers' bans."""
