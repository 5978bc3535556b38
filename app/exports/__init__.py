"""From a drawing in millimetres to PDF, SVG and DXF."""
