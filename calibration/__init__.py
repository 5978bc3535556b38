"""From a photo of a traced sheet to a true-scale contour with its uncertainty."""
