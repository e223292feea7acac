"""Drawings that others made: file to contours."""
