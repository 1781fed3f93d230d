"""What may be said: the strength of a claim, what is weak in a study, and what is registered before the trials.

A chance says that capacity exceeds demand in the model. Whether a claim may be called plausible or probable also asks
for evidence of the past and for trials, and the weakest step decides.
"""
from kit.publish.registration import (  # noqa: F401 (what is known as kit.claims, gathered)
    BEFORE, REGISTRATION, plan_digest, registered, registered_when, registration)
from kit.publish.strength import (  # noqa: F401
    BY_TRIAL, IN_THE_PAST, LADDER, PLAUSIBLE, PROBABLE, RUNGS, Strength, strength, trial_counts, untried)
from kit.publish.weaknesses import FEW, Weakness, weaknesses  # noqa: F401
