"""The command line. Translates between people and the house; decides nothing."""
