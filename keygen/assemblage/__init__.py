"""From specimens to assemblages: agreement, tabulation, seriation, timelines."""
