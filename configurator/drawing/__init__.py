"""Pictures of layouts, figures and circuits, drawn as SVG."""
