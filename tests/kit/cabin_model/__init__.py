"""Adapts PocketSphinx's English acoustic model to cabin noise and to the words of the call-out language.

The result is what `logger/recognisers/data` ships, but for the order of calls (see DEVELOPERS.md).
`python -m cabin_model` makes it anew from seeds (about twenty minutes on one core). Voices and noise seeds are the kit's TRAINING ones: nothing that is reported on is used.

How: the wheel's model is a phonetically tied mixture: 128 Gaussians for each phone and each of three streams of 13
features, and per senone the mixture weights. TRAINING voices speak calls; each is aligned with its words in quiet,
then mixed into cabin noise at several ratios; Gaussians and weights move towards what is seen there by maximum a
posteriori adaptation (Gauvain and Lee 1994, cited from memory), so that what is rarely seen stays as it was.
"""
