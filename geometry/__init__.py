"""Pure computation on wheel half-sections: frozen values and arrays in, frozen values out."""
