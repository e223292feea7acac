"""The staveline commands: they read arguments, call ``layout``, print, and exit."""
