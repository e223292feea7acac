"""The page on which a dealer marks up and signs an issue, in any browser, without a server."""
