"""What making the joint asks: peak temperature, form, route."""
