"""Variables of the booking solve, reached in trade verbs."""


class BookingModel:
    """The container that rules post to."""
