"""When a joint melts. For now a provisional remelt onset by rule; the melting engine will compute it."""
