"""The drawing: wheel, blank and stay-out shapes in the half-plane, and the handles that edit them."""
