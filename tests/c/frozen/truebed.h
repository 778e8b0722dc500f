/*
 * truebed: levelling and shim solver for heavy slate-bed tables and other machine beds.
 *
 * CONVENTIONS, kept by every call
 *
 * Names.      Functions and types begin with truebed_, macros with TRUEBED_.
 * Units.      Lengths are millimetres, in fields and parameters whose names end in _mm. Height is
 *             positive upwards; x runs along the length of the bed, y across. Inside, lengths are
 *             whole nanometres.
 * Status.     A call that can fail returns an int32_t: TRUEBED_OK (0) or what went wrong. The
 *             numbers never change their meaning. truebed_status_text() says any of them in
 *             words; truebed_last_error() says what was wrong in this thread's last failed call,
 *             a line for each problem, by field and index. How a search ended is no error.
 * Outputs.    A call that fails leaves everything its pointers lead to as it was.
 * Pointers.   Those to const are only read, during the call only. Each must be valid for what it
 *             is said to hold; NULL is refused with TRUEBED_NULL_POINTER unless the call says what
 *             it stands for. An array of 0 elements may be NULL.
 * Structs.    One that begins with struct_size: zero it, set struct_size to its sizeof, fill in
 *             what differs. A zero elsewhere is valid and means what its comment says; where the
 *             defaults are not all zero there is an _init function. A size of an older header is
 *             taken as well: the fields that it lacks are zero, and are not written. Element
 *             structs of arrays have no struct_size and never grow.
 * Choices.    Enumerations arrive as integers and are checked.
 * Arrays out. Into the caller's buffer of `capacity` elements; *count becomes the number of
 *             elements. A NULL buffer with a capacity of 0 only asks for the count.
 * Handles.    truebed_text, truebed_plan, truebed_plans, truebed_shortfall and truebed_verdict are
 *             made by the library and owned by the caller, who gives each back to its _free
 *             function once. Freeing NULL does nothing. A pointer to const that a call hands out
 *             belongs to the handle it is from, and is not freed by itself.
 * Texts.      UTF-8 throughout.
 * Threads.    Any function may be called from any number of threads at once. Handles never change
 *             and may be shared; only their freeing must wait for the last reader. The last error
 *             is each thread's own.
 * Manners.    Nothing is printed, nothing unwinds into the caller, no signal or locale is touched.
 */


#ifndef TRUEBED_H
#define TRUEBED_H

/* Made from the Rust sources in ffi/src: edit those, then make this anew. */

#include <stddef.h>
#include <stdint.h>

/**
 * First number of the version of this header.
 */
#define TRUEBED_VERSION_MAJOR 0

/**
 * Second number of the version of this header.
 */
#define TRUEBED_VERSION_MINOR 1

/**
 * Third number of the version of this header.
 */
#define TRUEBED_VERSION_PATCH 0

/**
 * The version of this header as one number that grows with it: 1.2.3 is 10203.
 */
#define TRUEBED_VERSION_NUMBER (((TRUEBED_VERSION_MAJOR * 10000) + (TRUEBED_VERSION_MINOR * 100)) + TRUEBED_VERSION_PATCH)

/**
 * The call did what it says.
 */
#define TRUEBED_OK 0

/**
 * A pointer that must not be NULL is.
 */
#define TRUEBED_NULL_POINTER 1

/**
 * The buffer has less room than the answer takes.
 */
#define TRUEBED_BUFFER_TOO_SMALL 2

/**
 * A text that is not UTF-8.
 */
#define TRUEBED_NOT_UTF8 3

/**
 * A struct_size that this library does not know.
 */
#define TRUEBED_STRUCT_SIZE 4

/**
 * A value that the field cannot take: not a number, negative, out of range.
 */
#define TRUEBED_BAD_VALUE 10

/**
 * A length that cannot be read: no unit, an unknown unit, no number.
 */
#define TRUEBED_BAD_LENGTH 11

/**
 * The same id, place or pair given twice.
 */
#define TRUEBED_DUPLICATE 12

/**
 * An id or an index that names nothing.
 */
#define TRUEBED_UNKNOWN 13

/**
 * Arrays whose sizes do not belong together, or an empty one.
 */
#define TRUEBED_BAD_SHAPE 14

/**
 * Points that do not span what was asked for: too few, or all on one line.
 */
#define TRUEBED_BAD_GEOMETRY 15

/**
 * A document that is not the JSON expected: syntax, missing fields, wrong types.
 */
#define TRUEBED_BAD_DOCUMENT 16

/**
 * A document of a version that this library does not read.
 */
#define TRUEBED_BAD_VERSION 17

/**
 * A fault of the library itself, never of the caller. Please report it with the text of
 * `truebed_last_error`.
 */
#define TRUEBED_INTERNAL 99

/**
 * Kind of plane: least squares of the vertical residuals.
 */
#define TRUEBED_PLANE_LEAST_SQUARES 0

/**
 * Bit of truebed_limits.asked: overall_mm is asked for.
 */
#define TRUEBED_LIMIT_OVERALL 1

/**
 * Bit of truebed_limits.asked: along_mm is asked for.
 */
#define TRUEBED_LIMIT_ALONG 2

/**
 * Bit of truebed_limits.asked: across_mm is asked for.
 */
#define TRUEBED_LIMIT_ACROSS 4

/**
 * Bit of truebed_limits.asked: joint_step_mm is asked for.
 */
#define TRUEBED_LIMIT_JOINT_STEP 8

/**
 * Bit of truebed_limits.asked: line_width_mm counts instead of 10 mm.
 */
#define TRUEBED_LIMIT_LINE_WIDTH 16

/**
 * In a finding: a limit on supports that are named; truebed_limits.asked needs no bit for those.
 */
#define TRUEBED_LIMIT_NAMED 32

/**
 * Order of goals: fewest pieces, then smallest worst deviation, then fewest kinds.
 */
#define TRUEBED_ORDER_FEWEST_PIECES 0

/**
 * Order of goals: smallest worst deviation, then fewest pieces, then fewest kinds.
 */
#define TRUEBED_ORDER_FLATTEST 1

/**
 * Order of goals: fewest supports lifted, then fewest pieces, then smallest worst deviation, then
 * fewest kinds.
 */
#define TRUEBED_ORDER_FEWEST_LIFTS 2

/**
 * Order of goals: lowest total price, then fewest pieces, then smallest worst deviation, then
 * fewest kinds.
 */
#define TRUEBED_ORDER_CHEAPEST 3

/**
 * A stock count that stands for as many as it takes.
 */
#define TRUEBED_UNLIMITED -1

/**
 * How a search ended: the plan meets every limit and none is better in the order of goals.
 */
#define TRUEBED_PLAN_PROVEN 0

/**
 * How a search ended: the budget ran out; the plan is the best that was found.
 */
#define TRUEBED_PLAN_BUDGET 1

/**
 * How a search ended: no plan from this stock meets the limits; the plan is the flattest that was
 * found at once. truebed_find_shortfall finds the flattest of all, and what would help.
 */
#define TRUEBED_PLAN_INFEASIBLE 2

/**
 * A stack of shims for every support. It never changes, so any number of threads may read it at
 * once.
 */
typedef struct truebed_plan truebed_plan;

/**
 * A list of plans. It never changes, so any number of threads may read it at once.
 */
typedef struct truebed_plans truebed_plans;

/**
 * What stands in the way of a plan, and the cheapest pieces that make one possible. It never
 * changes, so any number of threads may read it at once.
 */
typedef struct truebed_shortfall truebed_shortfall;

/**
 * A text that the library has made: UTF-8, of a known length, and ended by a NUL as well. It
 * never changes, so any number of threads may read it at once.
 */
typedef struct truebed_text truebed_text;

/**
 * Whether limits are met, and a finding for each set of points that a limit binds. It never
 * changes, so any number of threads may read it at once.
 */
typedef struct truebed_verdict truebed_verdict;

/**
 * A reference plane z = offset + slope_x · x + slope_y · y and how the points lie about it.
 */
typedef struct truebed_plane {
  /**
   * sizeof(truebed_plane), set by the caller.
   */
  size_t struct_size;
  /**
   * Rise per length along x, dimensionless.
   */
  double slope_x;
  /**
   * Rise per length along y, dimensionless.
   */
  double slope_y;
  /**
   * Height of the plane at x = y = 0, mm.
   */
  double offset_mm;
  /**
   * Peak-to-valley of the deviations (ISO 12781-1 FLTt), mm.
   */
  double flatness_mm;
  /**
   * Root mean square of the deviations (ISO 12781-1 FLTq), mm.
   */
  double rms_mm;
} truebed_plane;

/**
 * How to choose a plan; `truebed_plan_options_init` fills in the defaults.
 */
typedef struct truebed_plan_options {
  /**
   * sizeof(truebed_plan_options), set by the caller.
   */
  size_t struct_size;
  /**
   * The order of goals, a TRUEBED_ORDER_ number; TRUEBED_ORDER_FEWEST_PIECES by default.
   */
  int32_t order;
  /**
   * 1 (the default): a support that stands highest stays bare; 0: it may be lifted. At least
   * one support stays bare in any case.
   */
  int32_t keep_highest;
  /**
   * The most pieces under one support; 0 (the default) for no such limit.
   */
  uint32_t max_pieces;
  /**
   * The thickest stack under one support, mm; 0 (the default) for no such limit.
   */
  double max_stack_mm;
  /**
   * The most search nodes; 0 (the default) for the library's own number. The same number gives
   * the same plan on every machine.
   */
  uint64_t budget_nodes;
  /**
   * The longest time, ms; 0 (the default) for none. Where the clock stops the search depends
   * on the machine.
   */
  uint64_t budget_time_ms;
} truebed_plan_options;

/**
 * A support: where it stands in plan and how high it reaches without a shim.
 */
typedef struct truebed_support {
  /**
   * Position along the bed, mm.
   */
  double x_mm;
  /**
   * Position across the bed, mm.
   */
  double y_mm;
  /**
   * Height, positive upwards, mm.
   */
  double height_mm;
} truebed_support;

/**
 * One kind of shim.
 */
typedef struct truebed_shim {
  /**
   * Thickness of one piece: above 0 mm, at most 1000 mm.
   */
  double thickness_mm;
  /**
   * Pieces on hand, or TRUEBED_UNLIMITED.
   */
  int64_t count;
  /**
   * Price or weight of one piece, in whole units of the smallest kind that matters, at most
   * 1000000; what TRUEBED_ORDER_CHEAPEST adds up.
   */
  uint32_t price;
  /**
   * What is left of the thickness under load, from 0.5 to 1; 0 stands for 1.
   */
  double loaded_factor;
  /**
   * For an adjustable piece, of which a stack has at most one (a tapered wedge, a screw foot):
   * its greatest thickness, mm, thickness_mm being the least; 0 for a plain shim.
   */
  double adjusts_to_mm;
  /**
   * Its smallest step, mm: above 0, and a millionth of the range or more; 0 for a plain shim.
   */
  double adjusts_step_mm;
} truebed_shim;

/**
 * The largest difference of height between any of the supports that are named: a pair, or a line
 * of the caller's own.
 */
typedef struct truebed_named_limit {
  /**
   * The supports by index, at least two.
   */
  const size_t *points;
  /**
   * How many.
   */
  size_t point_count;
  /**
   * The largest difference that is allowed, mm: twice a ± limit.
   */
  double within_mm;
} truebed_named_limit;

/**
 * What counts as level. A limit is asked for by its bit in `asked`, at least one must be; a value
 * without its bit must be 0.
 */
typedef struct truebed_limits {
  /**
   * sizeof(truebed_limits), set by the caller.
   */
  size_t struct_size;
  /**
   * TRUEBED_LIMIT_ bits, or-ed together.
   */
  uint32_t asked;
  /**
   * ± over all supports, mm.
   */
  double overall_mm;
  /**
   * ± over the supports of each lengthwise line, mm.
   */
  double along_mm;
  /**
   * ± over the supports of each crosswise line, mm.
   */
  double across_mm;
  /**
   * The largest step between the two sides of a joint, mm.
   */
  double joint_step_mm;
  /**
   * Supports whose y (x) lie within this width of each other are on one lengthwise (crosswise)
   * line, mm; 10 mm without its bit.
   */
  double line_width_mm;
  /**
   * Limits on supports that are named; NULL for none.
   */
  const struct truebed_named_limit *named;
  /**
   * How many of them.
   */
  size_t named_count;
  /**
   * How much the target may slope along, either way, um/m (1000 is 1 mm/m), at most 100000; with
   * 0 here and in the next field it is level. All limits then hold for heights above it.
   */
  uint32_t slope_along_um_per_m;
  /**
   * How much it may slope across, um/m.
   */
  uint32_t slope_across_um_per_m;
} truebed_limits;

/**
 * Two supports, by index, on the two sides of a slate joint.
 */
typedef struct truebed_joint {
  /**
   * One side.
   */
  size_t a;
  /**
   * The other side.
   */
  size_t b;
} truebed_joint;

/**
 * The stacks that are in place. The heights of the supports are then those of the tops as they
 * stand, and pieces in place are no longer among those on hand; what a plan takes out goes back to
 * the stock.
 */
typedef struct truebed_placed {
  /**
   * sizeof(truebed_placed), set by the caller.
   */
  size_t struct_size;
  /**
   * The pieces, by their index in the stock: those under the first support, then those under the
   * second, and so on.
   */
  const size_t *pieces;
  /**
   * How many in all.
   */
  size_t piece_count;
  /**
   * How many of them stand under each support: as many numbers as there are supports.
   */
  const size_t *stack_sizes;
  /**
   * The thickness at which the adjustable piece under each support is set, mm, 0 where there is
   * none; NULL where there is none at all.
   */
  const double *settings_mm;
} truebed_placed;

/**
 * A kind that may go under some supports only.
 */
typedef struct truebed_only_under {
  /**
   * The kind, by its index in the stock.
   */
  size_t kind;
  /**
   * The supports by index.
   */
  const size_t *supports;
  /**
   * How many of them.
   */
  size_t support_count;
} truebed_only_under;

/**
 * All that `truebed_plan_shims` is asked.
 */
typedef struct truebed_problem {
  /**
   * sizeof(truebed_problem), set by the caller.
   */
  size_t struct_size;
  /**
   * The supports.
   */
  const struct truebed_support *supports;
  /**
   * How many supports.
   */
  size_t support_count;
  /**
   * The shims on hand, shared by all supports.
   */
  const struct truebed_shim *stock;
  /**
   * How many kinds of shim.
   */
  size_t stock_count;
  /**
   * What counts as level.
   */
  const struct truebed_limits *limits;
  /**
   * The slate joints; NULL for none.
   */
  const struct truebed_joint *joints;
  /**
   * How many joints.
   */
  size_t joint_count;
  /**
   * How to choose; NULL for the defaults.
   */
  const struct truebed_plan_options *options;
  /**
   * The stacks in place; NULL in a first pass.
   */
  const struct truebed_placed *placed;
  /**
   * Kinds that may go under some supports only; NULL for none.
   */
  const struct truebed_only_under *only_under;
  /**
   * How many of them.
   */
  size_t only_under_count;
} truebed_problem;

/**
 * A plan as a whole.
 */
typedef struct truebed_plan_summary {
  /**
   * sizeof(truebed_plan_summary), set by the caller.
   */
  size_t struct_size;
  /**
   * How the search ended, a TRUEBED_PLAN_ number.
   */
  int32_t status;
  /**
   * 1 if the tops meet every limit, else 0.
   */
  int32_t meets_limits;
  /**
   * Pieces in all.
   */
  size_t pieces;
  /**
   * The proven lower bound of the first goal in its own unit: pieces, mm of worst deviation,
   * supports lifted (as always with stacks in place, unless the plan is to be flattest or
   * cheapest) or price. When infeasible, the proven least worst deviation in mm.
   */
  double bound;
  /**
   * Largest distance of a top from the target, mm.
   */
  double worst_mm;
  /**
   * The level from which the worst deviation is smallest, mm; where the target slopes, its height
   * at x = y = 0.
   */
  double target_mm;
  /**
   * Search nodes spent.
   */
  uint64_t nodes;
  /**
   * Pieces to put in, take out or set anew.
   */
  size_t moved;
  /**
   * The slope of the target along, um/m; 0 where the limits allow none.
   */
  int64_t slope_along_um_per_m;
  /**
   * The slope of the target across, um/m.
   */
  int64_t slope_across_um_per_m;
  /**
   * How many supports the plan has: those of the problem.
   */
  size_t support_count;
  /**
   * How many kinds of shim the plan knows: those of the stock.
   */
  size_t kind_count;
} truebed_plan_summary;

/**
 * A shortfall as a whole.
 */
typedef struct truebed_shortfall_summary {
  /**
   * sizeof(truebed_shortfall_summary), set by the caller.
   */
  size_t struct_size;
  /**
   * 1 if nothing of the conflict can be left out; 0 if that is not known, since the budget ran
   * out.
   */
  int32_t minimal;
  /**
   * 1 if the most pieces under one support stand in the way, else 0.
   */
  int32_t max_pieces;
  /**
   * 1 if the thickest stack stands in the way, else 0.
   */
  int32_t max_stack;
  /**
   * 1 if there is an addition that makes a plan possible; else 0, and its price is 0.
   */
  int32_t has_addition;
  /**
   * How many supports are in conflict.
   */
  size_t support_count;
  /**
   * How many limits are in conflict.
   */
  size_t limit_count;
  /**
   * How many kinds are scarce.
   */
  size_t scarce_count;
  /**
   * What the addition costs: the sum of its prices, or where no kind of the catalogue has one,
   * the number of its pieces.
   */
  uint64_t price;
  /**
   * No other addition costs less than this; the price itself where that is proven.
   */
  double price_bound;
} truebed_shortfall_summary;

/**
 * One limit that is in conflict.
 */
typedef struct truebed_conflict_limit {
  /**
   * sizeof(truebed_conflict_limit), set by the caller.
   */
  size_t struct_size;
  /**
   * Which limit, by its bit: TRUEBED_LIMIT_OVERALL, _ALONG, _ACROSS, _JOINT_STEP or _NAMED.
   */
  uint32_t limit;
  /**
   * The largest difference that it allows, mm: twice a ± limit, once a joint step.
   */
  double allowed_mm;
} truebed_conflict_limit;

/**
 * Whether one limit is met over one set of points: all, a line, or a joint.
 */
typedef struct truebed_finding {
  /**
   * sizeof(truebed_finding), set by the caller.
   */
  size_t struct_size;
  /**
   * Which limit, by its bit: TRUEBED_LIMIT_OVERALL, _ALONG, _ACROSS, _JOINT_STEP or _NAMED.
   */
  uint32_t limit;
  /**
   * 1 if found_mm is at most allowed_mm, else 0.
   */
  int32_t met;
  /**
   * The difference between the highest and the lowest of the points, mm.
   */
  double found_mm;
  /**
   * The largest difference that is allowed, mm: twice a ± limit, once a joint step.
   */
  double allowed_mm;
} truebed_finding;

#ifdef __cplusplus
extern "C" {
#endif // __cplusplus

/**
 * The version of the library that is linked, as `"0.1.0"`. A text that is never freed; the call
 * cannot fail.
 */
const char *truebed_version(void);

/**
 * The version of the library that is linked, as one number: compare it with
 * `TRUEBED_VERSION_NUMBER`. The call cannot fail.
 */
uint32_t truebed_version_number(void);

/**
 * What a status number means, in a few words. A text that is never freed; a number that is no
 * status is told so. The call cannot fail.
 */
const char *truebed_status_text(int32_t status);

/**
 * What was wrong in the last call of this thread that failed: a line for each problem, with the
 * field, what was got and what was expected; empty while none has failed.
 *
 * The text belongs to the library and stays until the next call of this thread that fails, or
 * the thread's end. The call cannot fail.
 */
const char *truebed_last_error(void);

/**
 * The first byte of a text, which ends with a NUL. It belongs to the text and goes with it.
 * NULL for NULL; the call cannot fail.
 */
const char *truebed_text_data(const struct truebed_text *text);

/**
 * How many bytes a text has, without the NUL at its end. 0 for NULL; the call cannot fail.
 */
size_t truebed_text_length(const struct truebed_text *text);

/**
 * Frees a text. NULL is left alone; the call cannot fail.
 */
void truebed_text_free(struct truebed_text *text);

/**
 * Reads a length from a text that ends with a NUL: a number with a unit (nm, um, mm, cm, m, thou,
 * in, ft), as in `"0.010 in"`, `"1/64 in"` or `"0.25 mm"`. A bare number is refused. `*mm` is the
 * nearest nanometre to it, in millimetres.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8, TRUEBED_BAD_LENGTH.
 */
int32_t truebed_length_parse_mm(const char *text, double *mm);

/**
 * Fits a plane to `count` points. `xy_mm` holds x and y of each in turn, 2 * `count` values;
 * `z_mm` their heights; `weights` inverse variances up to a common factor, or NULL where all
 * count alike; `kind` is TRUEBED_PLANE_LEAST_SQUARES. The plane goes to `*plane`, the height of
 * each point above it to `deviations_mm`, which has room for `count` values or is NULL.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for an unknown kind,
 * values that are not finite and weights that are not above zero; TRUEBED_BAD_GEOMETRY for fewer
 * than three points, or all on one line.
 */
int32_t truebed_fit_plane(const double *xy_mm,
                          const double *z_mm,
                          const double *weights,
                          size_t count,
                          int32_t kind,
                          struct truebed_plane *plane,
                          double *deviations_mm);

/**
 * Fills `*options` with the defaults. `struct_size` is sizeof(truebed_plan_options), so that a
 * library with larger options than the caller's never writes behind them.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
 */
int32_t truebed_plan_options_init(struct truebed_plan_options *options, size_t struct_size);

/**
 * Finds which shims go under which support. `*out` becomes the plan; free it with
 * `truebed_plan_free`. Nothing of the problem is kept. Millimetres count to the nearest
 * nanometre, and what lies exactly on a limit meets it.
 *
 * That the stock cannot do it, or that the budget ran out, is no error but the status in the
 * plan's summary.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for heights, places,
 * thicknesses, counts, prices, limits and options out of range, no limit at all, and joints of a
 * support with itself; TRUEBED_DUPLICATE for a place or a joint given twice; TRUEBED_UNKNOWN for
 * joints of supports that are not there; TRUEBED_BAD_SHAPE for no support, no stock, or a stock
 * of more than 128 kinds.
 */
int32_t truebed_plan_shims(const struct truebed_problem *problem, struct truebed_plan **out);

/**
 * Finds a plan as `truebed_plan_shims` does, until `stop` says to stop. It is called with
 * `context` every few thousand search nodes, that is, up to thousands of times a second, and from
 * the thread of this call; anything but 0 ends the search as if its budget had run out: the
 * status in the summary is TRUEBED_PLAN_BUDGET, unless it was clear by then that no plan meets
 * the limits. A `stop` of NULL never does; `context` may be NULL.
 *
 * `stop` may be called often, also again after it has said to stop. It may call the library, but
 * it must return: no exception may leave it, and no longjmp.
 *
 * Errors: those of `truebed_plan_shims`.
 */
int32_t truebed_plan_shims_until(const struct truebed_problem *problem,
                                 int32_t (*stop)(void *context),
                                 void *context,
                                 struct truebed_plan **out);

/**
 * Writes what can be said of a plan as a whole to `*summary`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
 */
int32_t truebed_plan_get_summary(const struct truebed_plan *plan,
                                 struct truebed_plan_summary *summary);

/**
 * What each support is lifted by, mm, in the order of the supports.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_plan_lifts_mm(const struct truebed_plan *plan,
                              double *buffer,
                              size_t capacity,
                              size_t *count);

/**
 * Height of each support on its stack, mm, in the order of the supports.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_plan_tops_mm(const struct truebed_plan *plan,
                             double *buffer,
                             size_t capacity,
                             size_t *count);

/**
 * The thickness at which the adjustable piece under each support is set, mm, in the order of the
 * supports; 0 where there is none.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_plan_settings_mm(const struct truebed_plan *plan,
                                 double *buffer,
                                 size_t capacity,
                                 size_t *count);

/**
 * Supports, by index, that have to be lifted: whose stack is not what is in place.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_plan_lifted(const struct truebed_plan *plan,
                            size_t *buffer,
                            size_t capacity,
                            size_t *count);

/**
 * How far each support settled, mm, in the order of the supports: the height that the plan has for
 * its top, less the height that was read when the plan was worked by. `heights_mm` are the
 * readings, `height_count` of them, one for each support.
 *
 * The next plan has the settlement in its readings, with the stacks in place (truebed_placed). To
 * plan the same supports from their first heights, take what settled off those.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_BAD_VALUE for heights out of
 * range, TRUEBED_BAD_SHAPE for another number of them than supports.
 */
int32_t truebed_plan_settlement_mm(const struct truebed_plan *plan,
                                   const double *heights_mm,
                                   size_t height_count,
                                   double *buffer,
                                   size_t capacity,
                                   size_t *count);

/**
 * The stack under one support: indices into the stock, one a piece, thickest first.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_UNKNOWN for a support that is
 * not there.
 */
int32_t truebed_plan_stack(const struct truebed_plan *plan,
                           size_t support,
                           size_t *buffer,
                           size_t capacity,
                           size_t *count);

/**
 * Pieces used of each kind, in the order of the stock.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_plan_used(const struct truebed_plan *plan,
                          uint32_t *buffer,
                          size_t capacity,
                          size_t *count);

/**
 * Supports, by index, that no stack from the whole stock brings within the limits, whatever the
 * others get.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_plan_unreachable(const struct truebed_plan *plan,
                                 size_t *buffer,
                                 size_t capacity,
                                 size_t *count);

/**
 * Frees a plan. NULL is left alone; the call cannot fail.
 */
void truebed_plan_free(struct truebed_plan *plan);

/**
 * Finds the whole trade-off between pieces and flatness: the plan with the fewest pieces, and then
 * every plan that is flatter than all with no more pieces than it has, up to the flattest. From
 * each to the next, pieces rise and worst deviations fall. `*out` becomes the list; free it with
 * `truebed_plans_free`.
 *
 * The order in the options does not count here. Where the limits cannot be met there is one plan,
 * as from `truebed_plan_shims`. Where the budget, which is for all plans together, runs out, the
 * last plan has that status.
 *
 * Errors: those of `truebed_plan_shims`.
 */
int32_t truebed_tradeoff(const struct truebed_problem *problem, struct truebed_plans **out);

/**
 * Finds the trade-off as `truebed_tradeoff` does, until `stop` says to stop: see
 * `truebed_plan_shims_until`. The plans found by then are in the list, and the last of them has the
 * status TRUEBED_PLAN_BUDGET, unless it was clear by then that no plan meets the limits.
 *
 * Errors: those of `truebed_plan_shims`.
 */
int32_t truebed_tradeoff_until(const struct truebed_problem *problem,
                               int32_t (*stop)(void *context),
                               void *context,
                               struct truebed_plans **out);

/**
 * Plans `count` problems on all cores, each as `truebed_plan_shims` does. `*out` becomes the list
 * of the plans, in the order of the problems; free it with `truebed_plans_free`. No problems make
 * a list of no plans. The threads that the call starts end before it returns.
 *
 * All problems are looked at before one is solved: where any is bad the call fails, and the last
 * error names it, as in `problems[3].stock[0].thickness`.
 *
 * Errors: those of `truebed_plan_shims`.
 */
int32_t truebed_plan_many(const struct truebed_problem *const *problems,
                          size_t count,
                          struct truebed_plans **out);

/**
 * Plans many problems as `truebed_plan_many` does, until `stop` says to stop. It is called some
 * fifty times a second, from the thread of this call, with `context` and the number of problems
 * that are done; anything but 0 stops. Searches under way then end as if their budgets had run out,
 * and problems not begun get a plan of what is in place (no shims, in a first pass), all with the
 * status TRUEBED_PLAN_BUDGET: the list always has a plan for each problem. For the rest, `stop` is
 * as in `truebed_plan_shims_until`; batches that are done before its first turn never call it.
 *
 * Errors: those of `truebed_plan_shims`.
 */
int32_t truebed_plan_many_until(const struct truebed_problem *const *problems,
                                size_t count,
                                int32_t (*stop)(void *context, size_t done),
                                void *context,
                                struct truebed_plans **out);

/**
 * How many plans a list has. 0 for NULL; the call cannot fail.
 */
size_t truebed_plans_count(const struct truebed_plans *plans);

/**
 * One plan of a list, from 0 on. `*out` becomes the plan, which belongs to the list and goes with
 * it: it is not freed by itself.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_UNKNOWN for a plan that is not there.
 */
int32_t truebed_plans_get(const struct truebed_plans *plans,
                          size_t at,
                          const struct truebed_plan **out);

/**
 * Frees a list with all its plans. NULL is left alone; the call cannot fail.
 */
void truebed_plans_free(struct truebed_plans *plans);

/**
 * Finds why no plan meets the limits, and the cheapest addition to the stock with which one does:
 * from a catalogue of `catalogue_count` kinds, whose counts do not matter, or where `catalogue` is
 * NULL from more of the kinds at hand. `*out` becomes the shortfall, to be freed with
 * `truebed_shortfall_free`; or NULL where the stock suffices, or the budget ran out before it was
 * known that it does not. The budget is for the conflict, the addition and the flattest plan each.
 *
 * The conflict is a part of the problem that has no plan by itself: its supports (those that may
 * stay bare are always among them), held to its limits alone, with as many pieces as it takes of
 * all kinds but the scarce ones.
 *
 * Errors: those of `truebed_plan_shims`, also for the stock with the catalogue.
 */
int32_t truebed_find_shortfall(const struct truebed_problem *problem,
                               const struct truebed_shim *catalogue,
                               size_t catalogue_count,
                               struct truebed_shortfall **out);

/**
 * Finds a shortfall as `truebed_find_shortfall` does, until `stop` says to stop: see
 * `truebed_plan_shims_until`. A search stopped so ends as if its budget had run out; with `*out`
 * NULL where it was not known by then that the stock does not suffice.
 *
 * Errors: those of `truebed_find_shortfall`.
 */
int32_t truebed_find_shortfall_until(const struct truebed_problem *problem,
                                     const struct truebed_shim *catalogue,
                                     size_t catalogue_count,
                                     int32_t (*stop)(void *context),
                                     void *context,
                                     struct truebed_shortfall **out);

/**
 * Writes what can be said of a shortfall as a whole to `*summary`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
 */
int32_t truebed_shortfall_get_summary(const struct truebed_shortfall *shortfall,
                                      struct truebed_shortfall_summary *summary);

/**
 * The supports in conflict, by index, ascending.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_shortfall_supports(const struct truebed_shortfall *shortfall,
                                   size_t *buffer,
                                   size_t capacity,
                                   size_t *count);

/**
 * The scarce kinds, by their index in the stock, ascending.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_shortfall_scarce(const struct truebed_shortfall *shortfall,
                                 size_t *buffer,
                                 size_t capacity,
                                 size_t *count);

/**
 * One limit in conflict, from 0 on.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN for a limit that is not there.
 */
int32_t truebed_shortfall_limit(const struct truebed_shortfall *shortfall,
                                size_t at,
                                struct truebed_conflict_limit *limit);

/**
 * The supports that one limit in conflict binds, by index.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_UNKNOWN for a limit that is not
 * there.
 */
int32_t truebed_shortfall_limit_supports(const struct truebed_shortfall *shortfall,
                                         size_t at,
                                         size_t *buffer,
                                         size_t capacity,
                                         size_t *count);

/**
 * How many pieces of each kind of the catalogue make a plan possible; none where nothing of it
 * does.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_shortfall_pieces(const struct truebed_shortfall *shortfall,
                                 uint32_t *buffer,
                                 size_t capacity,
                                 size_t *count);

/**
 * The plan that the addition makes possible, or NULL without one: its kinds are those of the stock
 * and then those of the catalogue. It belongs to the shortfall and goes with it.
 *
 * Errors: TRUEBED_NULL_POINTER.
 */
int32_t truebed_shortfall_plan(const struct truebed_shortfall *shortfall,
                               const struct truebed_plan **out);

/**
 * The flattest plan that the stock allows, whatever the limits: proven so where the bound in its
 * summary is its worst deviation. It belongs to the shortfall and goes with it.
 *
 * Errors: TRUEBED_NULL_POINTER.
 */
int32_t truebed_shortfall_flattest(const struct truebed_shortfall *shortfall,
                                   const struct truebed_plan **out);

/**
 * Frees a shortfall with its plans. NULL is left alone; the call cannot fail.
 */
void truebed_shortfall_free(struct truebed_shortfall *shortfall);

/**
 * Holds the heights of `count` points against the limits. `xy_mm` holds x and y of each in turn,
 * 2 * `count` values, or is NULL where the limits ask for neither lengthwise nor crosswise lines nor slopes;
 * `joints` are pairs of points by index. `*out` becomes the verdict; free it with
 * `truebed_verdict_free`. Millimetres count to the nearest nanometre, and what lies exactly on a
 * limit meets it. That a limit is not met is no error.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for heights, places and
 * limits out of range, no limit at all, and joints of a point with itself; TRUEBED_DUPLICATE for a
 * joint given twice; TRUEBED_UNKNOWN for joints of points that are not there; TRUEBED_BAD_SHAPE
 * for no points.
 */
int32_t truebed_check(const double *xy_mm,
                      const double *heights_mm,
                      size_t count,
                      const struct truebed_limits *limits,
                      const struct truebed_joint *joints,
                      size_t joint_count,
                      struct truebed_verdict **out);

/**
 * 1 if all limits are met, else 0. 0 for NULL; the call cannot fail.
 */
int32_t truebed_verdict_is_met(const struct truebed_verdict *verdict);

/**
 * How many findings a verdict has. 0 for NULL; the call cannot fail.
 */
size_t truebed_verdict_count(const struct truebed_verdict *verdict);

/**
 * Writes one finding of a verdict, from 0 on, to `*finding`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN for a finding that is not
 * there.
 */
int32_t truebed_verdict_get(const struct truebed_verdict *verdict,
                            size_t at,
                            struct truebed_finding *finding);

/**
 * The points, by index, that one finding of a verdict is about.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_UNKNOWN for a finding that is
 * not there.
 */
int32_t truebed_verdict_points(const struct truebed_verdict *verdict,
                               size_t at,
                               size_t *buffer,
                               size_t capacity,
                               size_t *count);

/**
 * Frees a verdict. NULL is left alone; the call cannot fail.
 */
void truebed_verdict_free(struct truebed_verdict *verdict);

/**
 * Runs a job: `length` bytes of JSON, with or without a NUL behind them. `*out` becomes the same
 * document with its outcome, indented by two spaces; free it with `truebed_text_free`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8; TRUEBED_BAD_DOCUMENT and TRUEBED_BAD_VERSION
 * for what cannot be read as a job; every other from TRUEBED_BAD_VALUE on for what is wrong with
 * the job. That no plan meets the limits is no error but stands in the outcome.
 */
int32_t truebed_run_job_json(const char *json, size_t length, struct truebed_text **out);

/**
 * Runs a job as `truebed_run_job_json` does; `*out` becomes the work sheet that a crew reads, as
 * plain text in UTF-8. Free it with `truebed_text_free`.
 *
 * Errors: those of `truebed_run_job_json`.
 */
int32_t truebed_job_sheet(const char *json, size_t length, struct truebed_text **out);

/**
 * The JSON Schema (draft 2020-12) of a job. `*out` becomes a text; free it with
 * `truebed_text_free`.
 *
 * Errors: TRUEBED_NULL_POINTER.
 */
int32_t truebed_job_schema_json(struct truebed_text **out);

#ifdef __cplusplus
}  // extern "C"
#endif  // __cplusplus

#endif  /* TRUEBED_H */
