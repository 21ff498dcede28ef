"""Questions about many drives at once, answered by DuckDB, an analytical engine that runs inside this process."""
