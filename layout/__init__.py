"""staveline's library: measures in, pieces and drawings out. It knows no terminal and no exit code."""
