"""The look of one screen: day, night, or night while blood runs."""
