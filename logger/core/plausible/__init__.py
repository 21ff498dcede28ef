"""What a drive makes likely: how each quantity of a dash goes on, as probabilities. Pure."""
