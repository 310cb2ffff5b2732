"""Variables of the rotation solve, reached in trade verbs."""


class RotationModel:
    """The container that rules post to."""
