"""What can be wrong with samples of the outflow: the finding codes of their calculation."""

from libexchange.findings import COMMON_PRACTICE, Kind

_COMPUTED = "computed from the samples"

SHARE_IMPOSSIBLE = Kind(
    code="outflow-share-impossible",
    severity="caution",
    title="A sample reads as fresher than fresh or older than old",
    remedy="Check the sample, both references and the uncertainties.",
    source=_COMPUTED,
)
SHARE_FALLS = Kind(
    code="outflow-share-falls",
    severity="caution",
    title="A later sample is clearly older than the one before it",
    remedy="Check that no samples were swapped and that each was taken from the stream itself.",
    source=_COMPUTED,
)
OUT_OF_ORDER = Kind(
    code="outflow-samples-out-of-order",
    severity="note",
    title="The samples are not in the order of the litres",
    remedy="They were sorted by their litres; check that labels and litres belong together.",
    source=_COMPUTED,
)
SAME_LITRES = Kind(
    code="outflow-samples-at-same-litres",
    severity="note",
    title="Two samples were taken at the same litres",
    remedy="They were averaged; check the litres if they were meant to differ.",
    source=_COMPUTED,
)
BEYOND_EXCHANGE = Kind(
    code="outflow-sample-beyond-exchange",
    severity="caution",
    title="A sample was taken after more litres than were exchanged",
    remedy="It was left out. Check the litres of the sample and of the exchange.",
    source=_COMPUTED,
)
END_NOT_SAMPLED = Kind(
    code="outflow-end-not-sampled",
    severity="note",
    title="The last litres were not sampled",
    remedy="Take the last sample at the end of the exchange; what is not sampled widens the "
    "interval.",
    source=_COMPUTED,
)
FAR_APART = Kind(
    code="outflow-samples-far-apart",
    severity="caution",
    title="The share rises by much between two samples",
    remedy="Take samples every tenth of the fill while the colour changes; between samples far "
    "apart the interval may be too narrow.",
    source=COMMON_PRACTICE,
)
BEYOND_FILL = Kind(
    code="outflow-share-beyond-fill",
    severity="caution",
    title="More fresh fluid would be inside than the unit holds",
    remedy="Check the litres, the total fill, the references and the unit of the shares; where "
    "little fresh fluid leaves, the samples may not be of the stream that comes out of the unit.",
    source=_COMPUTED,
)
TOO_FEW = Kind(
    code="outflow-samples-too-few",
    severity="caution",
    title="There are too few samples of the outflow for a share",
    remedy="Give samples at two different litres or more beyond the start.",
    source=_COMPUTED,
)
REFERENCES_CLOSE = Kind(
    code="outflow-references-too-close",
    severity="caution",
    title="Old and fresh fluid read nearly the same",
    remedy="Use a signal that differs by at least five times its uncertainty, such as another "
    "element or a dye.",
    source=COMMON_PRACTICE,
)
NOT_LINEAR = Kind(
    code="outflow-signal-not-linear",
    severity="caution",
    title="Viscosity is not linear in the fresh share",
    remedy="Use the content of an element, a dye or a colour meter, or turn the readings into "
    "shares by mixtures of known share.",
    source=COMMON_PRACTICE,
)
TOTAL_DIFFERS = Kind(
    code="outflow-circuit-total-differs",
    severity="caution",
    title="The volumes of the circuit do not add up to the total fill",
    remedy="Check both; coefficients from a circuit of another size are wrong.",
    source=_COMPUTED,
)
TOO_FEW_FOR_MODEL = Kind(
    code="outflow-samples-too-few-for-model",
    severity="note",
    title="There are too few samples to tell anything of the circuit",
    remedy="Give samples at six different litres or more.",
    source=_COMPUTED,
)
NO_FIT = Kind(
    code="outflow-model-does-not-fit",
    severity="caution",
    title="The samples do not fit the circuit, whatever its coefficients",
    remedy="Check the volumes of the circuit, the drain before and the uncertainties; the share by "
    "the check-sum needs no circuit.",
    source=_COMPUTED,
)
NOT_TOLD = Kind(
    code="outflow-coefficient-not-told",
    severity="note",
    title="The samples do not tell this coefficient",
    remedy="Sample more often, longer or better; what the circuit lacks cannot be told at all.",
    source=_COMPUTED,
)
KINDS = (
    SHARE_IMPOSSIBLE, SHARE_FALLS, OUT_OF_ORDER, SAME_LITRES, BEYOND_EXCHANGE, END_NOT_SAMPLED,
    FAR_APART, BEYOND_FILL, TOO_FEW, REFERENCES_CLOSE, NOT_LINEAR, TOTAL_DIFFERS,
    TOO_FEW_FOR_MODEL, NO_FIT, NOT_TOLD,
)  # fmt: skip
"""Every finding code of the outflow."""
