"""What tray and canopy are cut from: panels, extrusions, and how they lie on stock."""
