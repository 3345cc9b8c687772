"""The shop: from an order to a parcel, with one pair of hands."""
