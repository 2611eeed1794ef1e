"""Section reports: plain values first (content), then lines and text on paper (sheet, pdf)."""
