"""Review after the drive: what is in doubt, how it came about, and what people answer. One code for page, terminal and scripts."""
