"""Pure computation: frozen values and arrays in, frozen values out; no window, no files, no unit objects."""
