"""Plans worked on paper first: each file holds an invented night, its sums line by line, and what they come to."""
