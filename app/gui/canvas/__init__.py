"""The canvas: view, rulers and what is drawn on the paper."""
