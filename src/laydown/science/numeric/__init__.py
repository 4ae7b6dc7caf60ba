"""Plain statistics on arrays: intervals, comparisons of means, equivalence, sample size, variance components.

Nothing here knows what is measured. All functions take stacked arrays where that is natural.
"""

from __future__ import annotations

from laydown.science.numeric.equal_spread import largest_variance_p
from laydown.science.numeric.equivalence import equivalence_p
from laydown.science.numeric.letters import compact_letters, not_told_apart, order_by
from laydown.science.numeric.pairwise import all_pairs_p, separate_pairs_p
from laydown.science.numeric.robust import median_deviation, robust_mean
from laydown.science.numeric.sample_size import difference_power, equivalence_power, smallest_count
from laydown.science.numeric.studentized_range import studentized_range_ppf, studentized_range_sf
from laydown.science.numeric.students_t import t_interval, t_quantile, two_sided_p, welch_satterthwaite_df
from laydown.science.numeric.variance_components import (
    CrossedComponents,
    NestedComponents,
    crossed_components,
    nested_components,
)

__all__ = [
    "CrossedComponents",
    "NestedComponents",
    "all_pairs_p",
    "compact_letters",
    "crossed_components",
    "difference_power",
    "equivalence_p",
    "equivalence_power",
    "largest_variance_p",
    "median_deviation",
    "nested_components",
    "not_told_apart",
    "order_by",
    "robust_mean",
    "separate_pairs_p",
    "smallest_count",
    "studentized_range_ppf",
    "studentized_range_sf",
    "t_interval",
    "t_quantile",
    "two_sided_p",
    "welch_satterthwaite_df",
]
