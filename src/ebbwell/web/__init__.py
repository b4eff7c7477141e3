"""The pages: served on this computer, complete without script, one folder a page under ``pages/``."""
