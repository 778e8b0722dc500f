/**
 * @file truebed.h
 * truebed: levelling and shim solver for heavy slate-bed tables and other machine beds.
 *
 * @par Contents
 * - @ref truebed_handles "Handles": what the library makes and the caller frees.
 * - @ref truebed_job "Jobs": a document that holds a whole job, and what comes of it.
 * - @ref truebed_jobs "Many jobs": run at once, on several threads.
 * - @ref truebed_status "Status and errors": how a call went.
 * - @ref truebed_text "Texts": what the library writes, such as documents, sheets and pictures.
 * - @ref truebed_length "Lengths": from a text with a unit to millimetres.
 * - @ref truebed_version "Version": of this header and of the library.
 * - @ref truebed_survey "Surveys": readings, to be adjusted to heights.
 * - @ref truebed_heights "Heights": an adjusted survey, with its uncertainties and suspected blunders.
 * - @ref truebed_limits "Limits": what counts as level.
 * - @ref truebed_preset "Presets": limits that a published specification asks for.
 * - @ref truebed_problem "Problems": supports, stock, limits and options, to be planned.
 * - @ref truebed_plan "Plans": which shims go under which support.
 * - @ref truebed_plans "Several plans": the trade-off, and many problems in one call.
 * - @ref truebed_shortfall "Shortfalls": why a stock is not enough, and what would help.
 * - @ref truebed_rule "Rules of decision": how a verdict is reached from uncertain heights.
 * - @ref truebed_verdict "Verdicts": heights against limits.
 * - @ref truebed_next "What to read next": the readings that would most reduce the doubt.
 * - @ref truebed_risks "Global risks": how often a rule of acceptance is wrong over many beds.
 * - @ref truebed_plane "Planes": reference planes, flatness, and how a frame stands.
 * - @ref truebed_floor "Floors": the highest support, slopes, straightedges and classes of evenness.
 * - @ref truebed_bed "Slabs": slates as elastic plates on supports that push, and the shims on which they lie level.
 * - @ref truebed_bed_surface "Bed surfaces": a smooth surface through points, and how a ball rolls on it.
 * - @ref truebed_site "Site": whether the table fits the room, whether it gets there, whether its frame is square.
 * - @ref truebed_estimate "Before the visit": floors that nobody has measured, what jobs take on them, and what must be in the van.
 * - @ref truebed_stream "Tables of problems and of floors": columns in and columns out, by the Arrow C stream interface.
 * - @ref truebed_kit_front "The front of kits": pieces in the van against the share of jobs that they serve.
 * - @ref truebed_lifting "Lifting": what a slate weighs, what stands on each leg, and how many people a lift takes.
 * - @ref truebed_picture "Pictures": plans, trade-offs and surveys as SVG.
 * - @ref truebed_former "Former names": kept for programs that use them.
 *
 * The conventions below are kept by every call.
 *
 * @par Names
 * Functions and types begin with truebed_, macros with TRUEBED_.
 *
 * @par Units
 * Lengths are millimetres, in fields and parameters whose names end in _mm. Height is positive
 * upwards; x runs along the length of the bed, y across. Inside, lengths are whole nanometres.
 *
 * @par Status
 * A call that can fail returns an int32_t: TRUEBED_OK (0) or the number of what went wrong. The
 * numbers never change their meaning. truebed_status_text() gives a number's meaning in words.
 * truebed_last_error() describes the last call of this thread that failed, with a line for each
 * problem, by field and index. How a search ended is not an error.
 *
 * @par Outputs
 * A call that fails leaves everything that its pointers lead to as it was.
 *
 * @par Pointers
 * A pointer to const is only read, and only during the call. Each pointer must be valid for what the
 * call says it holds. NULL is refused with TRUEBED_NULL_POINTER unless the call says what NULL stands
 * for. An array of 0 elements may be NULL.
 *
 * @par Structs
 * To use a struct that begins with struct_size, zero it, set struct_size to its sizeof, and fill in
 * what differs from the defaults. Zero is a valid value of every other field and means what the
 * field's comment says; where the defaults are not all zero there is an _init function. The size of
 * the same struct in an older header is accepted: fields that it lacks count as zero and are not
 * written. Structs that are elements of arrays have no struct_size and never grow.
 *
 * @par Choices
 * Enumerations are passed as integers, and are checked.
 *
 * @par Unknown values
 * A number that is not known is NaN, never 0. A choice that is not known is -1. An index that is
 * not known is SIZE_MAX.
 *
 * @par Arrays out
 * The call writes to the caller's buffer of `capacity` elements and sets *count to the number of
 * elements. A NULL buffer with a capacity of 0 only asks for the count.
 *
 * @par Handles
 * The library makes handles, and the caller owns them: each is given to its _free function once.
 * Freeing NULL does nothing. A pointer to const that a call returns belongs to the handle that it
 * came from; do not free it.
 *
 * @par Texts
 * All texts are UTF-8.
 *
 * @par Threads
 * Any function may be called from any number of threads at once. Handles never change and may be
 * shared between threads; only free one when no thread reads it any more. The exception is
 * truebed_survey, which changes while it is being filled: until it is complete, one thread uses it.
 * The last error is kept for each thread. Calls that use several threads end them before they
 * return; where a thread cannot be started, the calling thread does its work.
 *
 * @par Stack
 * Give a thread that calls the library a stack of at least 256 kB. The need does not grow with the
 * input. Measured on x86-64 Linux: every call of the test programs works on a stack of 64 kB, and not of 48 kB.
 *
 * @par Memory
 * A call that needs much memory for a covariance first makes sure that it is there, and returns
 * TRUEBED_OUT_OF_MEMORY where it is not. If the system refuses any other request for memory, the
 * process ends with abort() after one line on standard error, since Rust's standard library offers
 * no way to return from there. Where a system grants memory that it does not have, as Linux does by
 * default, it may end the process later by itself. Nothing else aborts.
 *
 * @par Manners
 * Apart from that line nothing is printed. Nothing unwinds into the caller. Signals and the locale
 * are left alone.
 *
 * @par Safety of people
 * A result may be used to lift heavy slabs. Show its cautions to whoever works from it; the work
 * sheets of jobs contain them.
 */


#ifndef TRUEBED_H
#define TRUEBED_H

/* Made from the Rust sources in ffi/src: edit those, then make this anew. */

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/**
 * @defgroup truebed_handles Handles
 * What the library makes and the caller frees.
 * @{
 */

/**
 * How a slab bears on supports. It never changes, so any number of threads may read it at once.
 * Pockets and holes, a modulus that differs with the grain, glue, creep, and how the frame bends as a
 * whole are not modelled.
 */
typedef struct truebed_bearing truebed_bearing;

/**
 * Stacks for a slab, which is modelled as `truebed_bearing` says. It never changes, so any number of threads may read it at once.
 */
typedef struct truebed_bed_plan truebed_bed_plan;

/**
 * A smooth surface through the points of a bed. It never changes, so any number of threads may read
 * it at once.
 */
typedef struct truebed_bed_surface truebed_bed_surface;

/**
 * What jobs on a floor will take. It never changes, so any number of threads may read it at once.
 */
typedef struct truebed_estimate truebed_estimate;

/**
 * How the heights of a floor that nobody has measured may differ. It never changes, so any number of
 * threads may read it at once.
 */
typedef struct truebed_floor_model truebed_floor_model;

/**
 * Adjusted heights, and for each reading how well the others check it. It never changes, so any
 * number of threads may read it at once.
 */
typedef struct truebed_heights truebed_heights;

/**
 * What came of many jobs, one by one. It never changes, so any number of threads may read it at once.
 */
typedef struct truebed_jobs truebed_jobs;

/**
 * A stock for the van. It never changes, so any number of threads may read it at once.
 */
typedef struct truebed_kit truebed_kit;

/**
 * The smallest kit for each of some shares of jobs, the fewest pieces first. It never changes, so any number
 * of threads may read it at once.
 */
typedef struct truebed_kit_front truebed_kit_front;

/**
 * A slab laid on supports under its loads, whatever the heights of the supports. It never changes, so
 * any number of threads may read it at once.
 */
typedef struct truebed_laid_slab truebed_laid_slab;

/**
 * What the readings prove, and what further readings would do. It never changes, so any number of
 * threads may read it at once.
 */
typedef struct truebed_next_readings truebed_next_readings;

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
 * Readings, and what else is known of them. It changes while it is being filled: until then it is
 * for one thread at a time.
 */
typedef struct truebed_survey truebed_survey;

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

/** @} */

/**
 * @defgroup truebed_job Jobs
 * a document that holds a whole job, and what comes of it.
 * @{
 */

/**
 * What a run may take, whatever the job itself allows: the smaller of the two counts. Zero is no limit.
 */
typedef struct truebed_budget {
  /**
   * sizeof(truebed_budget), set by the caller.
   */
  size_t struct_size;
  /**
   * The most search nodes of each search. The same number gives the same outcome on every machine.
   */
  uint64_t nodes;
  /**
   * The longest time for all that a run does, ms. Where the clock ends the run, the outcome depends on
   * the machine.
   */
  uint64_t time_ms;
} truebed_budget;

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
 * Runs a job as `truebed_run_job_json` does, with one budget for all that the run does, and until
 * `stop` says to stop. `budget` caps what the job itself allows; NULL for no cap. `stop` is called with
 * `context` every few milliseconds, from the thread of this call; anything but 0 stops. For the rest it
 * is as in `truebed_plan_shims_until`.
 *
 * What was cut short is listed in `outcome.ran_out` of the document, and a plan that was cut short says so
 * in its `status`; what was found before stays. `truebed_job_sheet_of_outcome` and the calls beside it
 * write of that document what a crew reads.
 *
 * Errors: those of `truebed_run_job_json`, and TRUEBED_STRUCT_SIZE.
 */
int32_t truebed_run_job_json_until(const char *json,
                                   size_t length,
                                   const struct truebed_budget *budget,
                                   int32_t (*stop)(void *context),
                                   void *context,
                                   struct truebed_text **out);

/**
 * Runs a job as `truebed_run_job_json` does; `*out` becomes the work sheet that a crew reads, as
 * plain text in UTF-8. Free it with `truebed_text_free`.
 *
 * Errors: those of `truebed_run_job_json`.
 */
int32_t truebed_job_sheet(const char *json, size_t length, struct truebed_text **out);

/**
 * Writes the work sheet of a job that has been run, as `truebed_job_sheet` does, without running it again.
 * `json` is the document that `truebed_run_job_json` or `truebed_run_job_json_until` gave: an outcome
 * from elsewhere may not be that of the job.
 *
 * Errors: those of `truebed_job_is_met`.
 */
int32_t truebed_job_sheet_of_outcome(const char *json,
                                     size_t length,
                                     struct truebed_text **out);

/**
 * Whether the plans of a job that has been run meet the limits of all its stages, as read: `*met`
 * becomes 1 if so, else 0, whatever the uncertainties; `truebed_job_conformity` counts them. A job of
 * plates alone has no limits to miss. `json` is the document that
 * `truebed_run_job_json` gave; it is not run again.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8; TRUEBED_BAD_DOCUMENT and TRUEBED_BAD_VERSION
 * for what cannot be read as a job or has no outcome; TRUEBED_BAD_LENGTH.
 */
int32_t truebed_job_is_met(const char *json,
                           size_t length,
                           int32_t *met);

/**
 * The verdict on a job that has been run: whether all its stages meet their limits once the plans are
 * carried out. `*out` becomes TRUEBED_MET where that is the verdict on each stage, by the job's own rule
 * of decision; TRUEBED_NOT_MET where it is that of any; else TRUEBED_CANNOT_TELL. A stage without
 * uncertainties, and a job without stages, is as `truebed_job_is_met` has it. `json` is the document
 * that `truebed_run_job_json` gave; it is not run again.
 *
 * Errors: those of `truebed_job_is_met`.
 */
int32_t truebed_job_conformity(const char *json,
                               size_t length,
                               int32_t *out);

/**
 * Runs a job as `truebed_run_job_json` does; `*out` becomes the picture of its stages, an SVG with
 * no script in it, in the job's units. Free it with `truebed_text_free`.
 *
 * Errors: those of `truebed_run_job_json`.
 */
int32_t truebed_job_picture(const char *json, size_t length, struct truebed_text **out);

/**
 * Draws what `truebed_job_picture` draws for the screen of a phone: 380 pixels wide, set anew and not
 * shrunk. Free it with `truebed_text_free`.
 *
 * Errors: those of `truebed_run_job_json`.
 */
int32_t truebed_job_picture_narrow(const char *json,
                                   size_t length,
                                   struct truebed_text **out);

/**
 * Draws the stages of a job that has been run, as `truebed_job_picture` does, without running it again.
 * `json` is as in `truebed_job_sheet_of_outcome`.
 *
 * Errors: those of `truebed_job_is_met`.
 */
int32_t truebed_job_picture_of_outcome(const char *json,
                                       size_t length,
                                       struct truebed_text **out);

/**
 * Runs a job as `truebed_run_job_json` does; `*out` becomes the page that a crew works from, one HTML
 * file that needs no script and no network, made for print and for a phone. Free it with
 * `truebed_text_free`.
 *
 * Errors: those of `truebed_run_job_json`.
 */
int32_t truebed_job_page(const char *json,
                         size_t length,
                         struct truebed_text **out);

/**
 * Writes the page of a job that has been run, as `truebed_job_page` does, without running it again.
 * `json` is as in `truebed_job_sheet_of_outcome`.
 *
 * Errors: those of `truebed_job_is_met`; those of `truebed_find_place` for a room that has not been run.
 */
int32_t truebed_job_page_of_outcome(const char *json,
                                    size_t length,
                                    struct truebed_text **out);

/**
 * Makes the document of the next pass of a job: stacks become what is placed, the stock what is left,
 * and `readings`, a JSON array of `readings_length` bytes, takes the place of all that were taken
 * before. The job is run first. `*out` becomes the document, not run yet; free it with
 * `truebed_text_free`. Once legs are lifted slates that have not been read again are left out.
 *
 * Errors: those of `truebed_run_job_json`; TRUEBED_BAD_VALUE for a plan that does not meet its limits,
 * a reading that the plan was made from of a point that has been lifted since, and a point that has
 * not been read again.
 */
int32_t truebed_job_next_pass(const char *json,
                              size_t length,
                              const char *readings,
                              size_t readings_length,
                              struct truebed_text **out);

/**
 * Makes the document of the next pass as `truebed_job_next_pass` does, from the outcome of a job that has
 * been run, without running it again: for the document whose plan a crew has carried out. A plan
 * that ran out of its budget might be another one if it were run again.
 *
 * Errors: those of `truebed_job_next_pass`; TRUEBED_BAD_DOCUMENT for a job without an outcome.
 */
int32_t truebed_job_next_pass_of_outcome(const char *json,
                                         size_t length,
                                         const char *readings,
                                         size_t readings_length,
                                         struct truebed_text **out);

/**
 * The JSON Schema (draft 2020-12) of a job. `*out` becomes a text; free it with
 * `truebed_text_free`.
 *
 * Errors: TRUEBED_NULL_POINTER.
 */
int32_t truebed_job_schema_json(struct truebed_text **out);

/** @} */

/**
 * @defgroup truebed_jobs Many jobs
 * run at once, on several threads.
 * @{
 */

/**
 * Runs `count` jobs, each as `truebed_run_job_json_until` does, on at most `threads` threads; 0 stands
 * for one for each core. The documents are `jsons`, of so many bytes each (`lengths`). `budget`, NULL for
 * none, is that of each job. `*out` becomes what came of them, in their order; free it with
 * `truebed_jobs_free`. A job that is bad takes no other with it: `truebed_jobs_get` gives its error.
 *
 * `stop` is called some fifty times a second, from the thread of this call, with `context` and the number of
 * jobs that are done; anything but 0 stops. Jobs under way then end with what they have found, and none
 * is begun any more. For the rest it is as in `truebed_plan_shims_until`. The threads that the call starts
 * end before it returns; where none can be started, the thread of this call does the work.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
 */
int32_t truebed_run_jobs_json_until(size_t threads,
                                    const char *const *jsons,
                                    const size_t *lengths,
                                    size_t count,
                                    const struct truebed_budget *budget,
                                    int32_t (*stop)(void *context, size_t done),
                                    void *context,
                                    struct truebed_jobs **out);

/**
 * The number of jobs. 0 for NULL; the call cannot fail.
 */
size_t truebed_jobs_count(const struct truebed_jobs *jobs);

/**
 * What came of one job, by index. `*out` becomes its document with its outcome, which belongs to the jobs;
 * do not free it.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_UNKNOWN for a job that is not there; for a job that was bad its own
 * error, those of `truebed_run_job_json`; TRUEBED_BAD_VALUE with the field `job` for one that was not begun
 * before `stop` said to stop.
 */
int32_t truebed_jobs_get(const struct truebed_jobs *jobs,
                         size_t at,
                         const struct truebed_text **out);

/**
 * Frees what came of jobs. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_jobs_free(struct truebed_jobs *jobs);

/** @} */

/**
 * @defgroup truebed_status Status and errors
 * how a call went.
 * @{
 */

/**
 * The call did what it says.
 */
#define TRUEBED_OK 0

/**
 * A pointer is NULL that must not be.
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
 * The system does not have the memory that the call needs.
 */
#define TRUEBED_OUT_OF_MEMORY 5

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
 * Points that the readings do not tie together.
 */
#define TRUEBED_UNTIED 18

/**
 * Work that its budget or its caller stopped before there was an answer.
 */
#define TRUEBED_STOPPED 19

/**
 * A fault of the library itself, never of the caller. Please report it with the text of
 * `truebed_last_error`.
 */
#define TRUEBED_INTERNAL 99

/**
 * The meaning of a status number in a few words, also of a number that is not a status. The text is
 * never freed. The call cannot fail.
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

/** @} */

/**
 * @defgroup truebed_text Texts
 * what the library writes, such as documents, sheets and pictures.
 * @{
 */

/**
 * The first byte of a text, which ends with a NUL. It belongs to the text; do not free it.
 * NULL for NULL; the call cannot fail.
 */
const char *truebed_text_data(const struct truebed_text *text);

/**
 * The number of bytes of a text, without the NUL at its end. 0 for NULL; the call cannot fail.
 */
size_t truebed_text_length(const struct truebed_text *text);

/**
 * Frees a text. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_text_free(struct truebed_text *text);

/** @} */

/**
 * @defgroup truebed_length Lengths
 * from a text with a unit to millimetres.
 * @{
 */

/**
 * Reads a length from a text that ends with a NUL: a number with a unit (nm, um, mm, cm, m, thou,
 * in, ft), as in `"0.010 in"`, `"1/64 in"` or `"0.25 mm"`. A bare number is refused. `*mm` is the
 * nearest nanometre to it, in millimetres.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8, TRUEBED_BAD_LENGTH.
 */
int32_t truebed_length_parse_mm(const char *text, double *mm);

/** @} */

/**
 * @defgroup truebed_version Version
 * of this header and of the library.
 * @{
 */

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
 * The cautions that everything shows by which people lift, a line for each. Show them wherever you show a
 * plan of your own. A text that is never freed; the call cannot fail.
 */
const char *truebed_cautions(void);

/** @} */

/**
 * @defgroup truebed_survey Surveys
 * readings, to be adjusted to heights.
 * @{
 */

/**
 * Instrument: a staff in the sight of an optical level; more reading is lower.
 */
#define TRUEBED_INSTRUMENT_STAFF 0

/**
 * Instrument: the scale at one end of a water level; more reading is lower.
 */
#define TRUEBED_INSTRUMENT_WATER_LEVEL 1

/**
 * Instrument: a staff in the plane of a laser; more reading is lower.
 */
#define TRUEBED_INSTRUMENT_LASER 2

/**
 * Instrument: a dial indicator that points down; more reading is higher.
 */
#define TRUEBED_INSTRUMENT_INDICATOR 3

/**
 * Surface: the floor, under legs that float lower than the frame by the gap.
 */
#define TRUEBED_SURFACE_FLOOR 0

/**
 * Surface: the frame on top of which readings were taken.
 */
#define TRUEBED_SURFACE_FRAME 1

/**
 * Test for blunders: Baarda's w, which trusts the stated uncertainties.
 */
#define TRUEBED_TEST_W 0

/**
 * Test for blunders: Pope's tau, which trusts them up to a common factor.
 */
#define TRUEBED_TEST_TAU 1

/**
 * Makes an empty survey. Add readings to it, then call `truebed_adjust`; free it with
 * `truebed_survey_free`.
 *
 * Points are named by ids, texts that end with a NUL. The numbers of a reading are checked when the
 * survey is adjusted, all at once. A standard uncertainty of 0 stands for the default of the kind
 * of reading (common practice: staff 0.3 mm, water level and laser 0.5 mm, indicator 0.005 mm,
 * rise 0.42 mm, gaps 0.0144 mm, bubble 0.2 divisions a step, slope 0.05 degrees).
 *
 * Errors: TRUEBED_NULL_POINTER.
 */
int32_t truebed_survey_new(struct truebed_survey **out);

/**
 * Frees a survey. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_survey_free(struct truebed_survey *survey);

/**
 * The number of readings of a survey. 0 for NULL; the call cannot fail.
 */
size_t truebed_survey_count(const struct truebed_survey *survey);

/**
 * Adds the known height of a point. With a sigma_mm of 0 it counts as exact.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
 */
int32_t truebed_survey_height(struct truebed_survey *survey,
                              const char *point,
                              double value_mm,
                              double sigma_mm);

/**
 * Adds what an instrument, by its TRUEBED_INSTRUMENT_ number, reads at a point from the set-up of
 * that name.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8; TRUEBED_BAD_VALUE for an unknown instrument.
 */
int32_t truebed_survey_height_from_setup(struct truebed_survey *survey,
                                         const char *setup,
                                         int32_t instrument,
                                         const char *point,
                                         double value_mm,
                                         double sigma_mm);

/**
 * Adds how much higher b is than a.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
 */
int32_t truebed_survey_rise(struct truebed_survey *survey,
                            const char *a,
                            const char *b,
                            double value_mm,
                            double sigma_mm);

/**
 * Adds a spirit level's reading from a to b: `steps` numbers of divisions off the middle towards b
 * (the bubble runs to the higher end), the slope of a division, the length of its base (0 where it
 * does not matter), the distance (0: from the places of a and b, or steps × base). `level` is the
 * name of the level, or NULL where there is one only; `turned` 1 if it was turned end for end, else
 * 0; `sigma` the uncertainty of a step in divisions.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8, TRUEBED_BAD_VALUE for `turned`.
 */
int32_t truebed_survey_bubble(struct truebed_survey *survey,
                              const char *a,
                              const char *b,
                              const double *divisions,
                              size_t steps,
                              double sensitivity_mm_per_m,
                              double base_mm,
                              double span_mm,
                              const char *level,
                              int32_t turned,
                              double sigma);

/**
 * Adds the reading of an electronic level or inclinometer from a to b: the slope, positive where b is
 * higher; the distance
 * (0: from their places); `level` and `turned` as in `truebed_survey_bubble`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8, TRUEBED_BAD_VALUE for `turned`.
 */
int32_t truebed_survey_slope(struct truebed_survey *survey,
                             const char *a,
                             const char *b,
                             double value_mm_per_m,
                             double span_mm,
                             const char *level,
                             int32_t turned,
                             double sigma_mm_per_m);

/**
 * Adds the gap at a point under a straightedge that rests on a and b; `at` is where the point lies
 * between a (0) and b (1), or 0 for where their places have it.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
 */
int32_t truebed_survey_gap(struct truebed_survey *survey,
                           const char *point,
                           const char *a,
                           const char *b,
                           double at,
                           double value_mm,
                           double sigma_mm);

/**
 * Adds the gap under a leg that floats while the frame stands on the others. All other readings at
 * this leg were taken on the frame; see `truebed_survey_surface`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
 */
int32_t truebed_survey_leg_gap(struct truebed_survey *survey,
                               const char *point,
                               double value_mm,
                               double sigma_mm);

/**
 * Adds the gap below a slate at a support that it does not touch, read with feelers. All other
 * readings at this point were taken on the slate, and the height of the point is that of the support.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
 */
int32_t truebed_survey_slate_gap(struct truebed_survey *survey,
                                 const char *point,
                                 double value_mm,
                                 double sigma_mm);

/**
 * Adds the readings of a level stepped along a line of `count` points, one number of divisions a
 * step, `count` - 1 of them. A line that ends where it began closes. The other arguments are those
 * of `truebed_survey_bubble`, `base_mm` being the length of a step.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8, TRUEBED_BAD_VALUE for `turned`; TRUEBED_BAD_SHAPE
 * for fewer than two points.
 */
int32_t truebed_survey_line(struct truebed_survey *survey,
                            const char *const *points,
                            size_t count,
                            const double *divisions,
                            double sensitivity_mm_per_m,
                            double base_mm,
                            const char *level,
                            int32_t turned,
                            double sigma);

/**
 * Adds the readings of a level stepped along all lines of a grid of `rows` × `columns` points, row
 * by row: divisions along the rows, `rows` × (`columns` - 1), and across from each row to the next,
 * (`rows` - 1) × `columns`. The other arguments are those of `truebed_survey_line`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8; TRUEBED_BAD_SHAPE for more than memory can hold.
 */
int32_t truebed_survey_grid(struct truebed_survey *survey,
                            const char *const *points,
                            size_t rows,
                            size_t columns,
                            const double *along,
                            const double *across,
                            double sensitivity_mm_per_m,
                            double base_mm,
                            const char *level,
                            double sigma);

/**
 * Adds readings from a table: `length` bytes of comma-separated values, a line of column names and
 * then a reading a line. The columns are `kind` (height, rise, bubble, slope, gap, leg-gap, slate-gap) and the
 * fields of the readings: point, a, b, value, sigma, setup, instrument, divisions, sensitivity, base,
 * span, level, turned, at, note; lengths and slopes with their units.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8; every other from TRUEBED_BAD_VALUE on for what
 * is wrong with the table, by line.
 */
int32_t truebed_survey_csv(struct truebed_survey *survey,
                           const char *text,
                           size_t length);

/**
 * Sets the position of a point in plan. Either all points have one or none has, and each point must
 * have a reading.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8, TRUEBED_BAD_VALUE.
 */
int32_t truebed_survey_place(struct truebed_survey *survey,
                             const char *point,
                             double x_mm,
                             double y_mm);

/**
 * Says what height a point is known to have; with a sigma_mm of 0 exactly.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
 */
int32_t truebed_survey_fix(struct truebed_survey *survey,
                           const char *point,
                           double height_mm,
                           double sigma_mm);

/**
 * Adds a point to the datum: where nothing fixes the heights, the mean height of its points is 0;
 * of all points where none is named.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
 */
int32_t truebed_survey_datum(struct truebed_survey *survey, const char *point);

/**
 * Sets the standard uncertainty of the zero error of a level. Beforehand the zero error is taken to
 * be 0 with this uncertainty; readings that were taken both ways round determine it better. NULL is
 * the level without a name. The default is half a division, or 0.05° for an electronic level (common
 * practice).
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
 */
int32_t truebed_survey_level(struct truebed_survey *survey,
                             const char *level,
                             double zero_sigma_mm_per_m);

/**
 * Sets the standard uncertainty of the slope of the plane that a laser throws from a set-up, along and
 * across alike. Beforehand the plane is taken to be level with this uncertainty; readings that were
 * taken another way determine it better. The default is 0.1 mm/m (common practice: 1 mm at 10 m). It
 * counts where the places of the points are known (`truebed_survey_place`).
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8.
 */
int32_t truebed_survey_laser(struct truebed_survey *survey,
                             const char *setup,
                             double slope_sigma_mm_per_m);

/**
 * Leaves a reading, by index, out of the next adjustment. It stays listed, with how far off it is.
 *
 * Errors: TRUEBED_NULL_POINTER.
 */
int32_t truebed_survey_without(struct truebed_survey *survey, size_t reading);

/**
 * Says which surface, by its TRUEBED_SURFACE_ number, the heights are to be those of where legs
 * float; the default is the floor.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE.
 */
int32_t truebed_survey_surface(struct truebed_survey *survey, int32_t surface);

/**
 * Chooses the test for blunders by its TRUEBED_TEST_ number; how often it may suspect a good
 * reading; how surely it finds a blunder of the smallest detectable size. TRUEBED_TEST_W, 0.001 and
 * 0.8 (Baarda 1968) are the defaults.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE for an unknown test.
 */
int32_t truebed_survey_test(struct truebed_survey *survey,
                            int32_t test,
                            double alpha,
                            double power);

/**
 * Reads a slope from a text that ends with a NUL: a number with a unit (mm/m, in/ft, arcsec, arcmin,
 * deg, %), as in `"0.02 mm/m"` or `"4 arcsec"`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8, TRUEBED_BAD_LENGTH.
 */
int32_t truebed_slope_parse_mm_per_m(const char *text,
                                     double *mm_per_m);

/**
 * Works a union-jack survey of a surface plate out (J. C. Moody, The Tool Engineer, October 1955).
 * `lines` are eight arrays of readings, `counts` how many each has: from north-west to south-east,
 * north-east to south-west, north-east to north-west, north-east to south-east, south-east to
 * south-west, north-west to south-west, east to west, north to south. A reading of 1 is a slope of
 * `unit_mm_per_m`; stations are `step_mm` apart.
 *
 * `heights_mm`, where it is not NULL, has room for the heights of the stations line by line, one
 * more in each than it has readings; `closures_mm`, for two, gets where the centre lines, east to
 * west and north to south, miss the centre; `*flatness_mm` the highest station above the lowest.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_SHAPE for lines without two halves; TRUEBED_BAD_VALUE.
 */
int32_t truebed_union_jack(const double *const *lines,
                           const size_t *counts,
                           double unit_mm_per_m,
                           double step_mm,
                           double *heights_mm,
                           double *closures_mm,
                           double *flatness_mm);

/** @} */

/**
 * @defgroup truebed_heights Heights
 * an adjusted survey, with its uncertainties and suspected blunders.
 * @{
 */

/**
 * Nothing checks the zero error of a level: read a line with the level turned end for end.
 */
#define TRUEBED_UNCHECKED_LEVEL 1

/**
 * Nothing checks the slope of a laser's plane: read the same points from a second set-up, on the other
 * side of the bed, or some rises another way.
 */
#define TRUEBED_UNCHECKED_LASER 2

/**
 * The same, and its stated uncertainty is not in the figures, since the places of the points are not
 * known.
 */
#define TRUEBED_UNCHECKED_LASER_NOT_COUNTED 3

/**
 * A survey as a whole. What the readings do not determine is NaN.
 */
typedef struct truebed_heights_summary {
  /**
   * sizeof(truebed_heights_summary), set by the caller.
   */
  size_t struct_size;
  /**
   * The number of points.
   */
  size_t points;
  /**
   * The number of readings, including those left out.
   */
  size_t readings;
  /**
   * Degrees of freedom: the number of readings beyond those needed.
   */
  size_t dof;
  /**
   * Sum of weighted squares of the residuals over dof: about 1 where the uncertainties are
   * right. NaN without degrees of freedom.
   */
  double variance_factor;
  /**
   * Global test: probability of residuals at least so large if the uncertainties are right and
   * no reading is a blunder. NaN without degrees of freedom.
   */
  double p_value;
  /**
   * The critical value of the test for blunders; NaN where there is none.
   */
  double critical;
  /**
   * Largest pivot of the normal equations over the smallest: as many of the 16 digits as it has
   * may be lost.
   */
  double condition;
} truebed_heights_summary;

/**
 * The height of a set-up or the zero error of a level, as found by the adjustment.
 */
typedef struct truebed_offset {
  /**
   * sizeof(truebed_offset), set by the caller.
   */
  size_t struct_size;
  /**
   * Its name, which belongs to the heights.
   */
  const char *name;
  /**
   * Height of the set-up, mm, or zero error of the level, mm/m.
   */
  double value;
  /**
   * Standard uncertainty of that.
   */
  double sigma;
} truebed_offset;

/**
 * Adjusts a survey: weighted least squares of all its readings at once. `*out` becomes the heights;
 * free them with `truebed_heights_free`. The survey stays as it is, and may be adjusted again.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for values that are not finite, uncertainties
 * below zero, readings from a point to itself, fixed heights that contradict each other,
 * uncertainties too far apart to compute with; TRUEBED_DUPLICATE, TRUEBED_UNKNOWN for names;
 * TRUEBED_BAD_SHAPE for no readings; TRUEBED_BAD_GEOMETRY for points beside their straightedge;
 * TRUEBED_UNTIED for points that the readings do not tie together, with a reading that would.
 */
int32_t truebed_adjust(const struct truebed_survey *survey, struct truebed_heights **out);

/**
 * Adjusts a survey as `truebed_adjust` does, until `stop` says to stop: see `truebed_plan_shims_until`. A
 * call that is stopped has no answer.
 *
 * Errors: those of `truebed_adjust`, and TRUEBED_STOPPED.
 */
int32_t truebed_adjust_until(const struct truebed_survey *survey,
                             int32_t (*stop)(void *context),
                             void *context,
                             struct truebed_heights **out);

/**
 * Frees heights. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_heights_free(struct truebed_heights *heights);

/**
 * Writes the summary of a survey to `*summary`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
 */
int32_t truebed_heights_get_summary(const struct truebed_heights *heights,
                                    struct truebed_heights_summary *summary);

/**
 * The id of a point, by index. `*out` becomes a text that ends with a NUL and belongs to the
 * heights.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_UNKNOWN for a point that is not there.
 */
int32_t truebed_heights_id(const struct truebed_heights *heights, size_t at, const char **out);

/**
 * The heights of the points, mm: in the order of their places, else as they appear in the readings.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_heights_mm(const struct truebed_heights *heights,
                           double *buffer,
                           size_t capacity,
                           size_t *count);

/**
 * The standard uncertainties of the heights, mm; 0 for those that count as exact.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_heights_sigma_mm(const struct truebed_heights *heights,
                                 double *buffer,
                                 size_t capacity,
                                 size_t *count);

/**
 * The covariance of the heights, mm², row by row: points × points values. It is computed at each
 * call that has a buffer.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_OUT_OF_MEMORY.
 */
int32_t truebed_heights_covariance_mm2(const struct truebed_heights *heights,
                                       double *buffer,
                                       size_t capacity,
                                       size_t *count);

/**
 * The covariance as `truebed_heights_covariance_mm2` gives it, until `stop` says to stop: see
 * `truebed_plan_shims_until`. A call that is stopped writes nothing.
 *
 * Errors: those of `truebed_heights_covariance_mm2`, and TRUEBED_STOPPED.
 */
int32_t truebed_heights_covariance_until(const struct truebed_heights *heights,
                                         int32_t (*stop)(void *context),
                                         void *context,
                                         double *buffer,
                                         size_t capacity,
                                         size_t *count);

/**
 * The residual of each reading, mm: adjusted less read; of a slope over its span.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_heights_residuals_mm(const struct truebed_heights *heights,
                                     double *buffer,
                                     size_t capacity,
                                     size_t *count);

/**
 * The redundancy number of each reading, from 0 (no other reading checks it) to 1.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_heights_redundancy(const struct truebed_heights *heights,
                                   double *buffer,
                                   size_t capacity,
                                   size_t *count);

/**
 * Baarda's w of each reading, its residual over the residual's standard uncertainty; NaN where
 * nothing checks the reading. For one left out: how far off it is, in standard uncertainties.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_heights_normalised(const struct truebed_heights *heights,
                                   double *buffer,
                                   size_t capacity,
                                   size_t *count);

/**
 * Pope's tau of each reading: w over the square root of the variance factor.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_heights_tau(const struct truebed_heights *heights,
                            double *buffer,
                            size_t capacity,
                            size_t *count);

/**
 * The smallest blunder of each reading that the test finds with the stated power, mm; infinite
 * where nothing checks the reading.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_heights_detectable_mm(const struct truebed_heights *heights,
                                      double *buffer,
                                      size_t capacity,
                                      size_t *count);

/**
 * The readings that the others contradict, by index, worst first. One blunder makes good readings
 * look bad: look at their groups (`truebed_heights_suspect_group`), read those of the first again, and
 * adjust again. Leave a reading out (`truebed_survey_without`) only where it is alone in its group.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_heights_suspects(const struct truebed_heights *heights,
                                 size_t *buffer,
                                 size_t capacity,
                                 size_t *count);

/**
 * How many groups the suspects make. 0 for NULL; the call cannot fail.
 */
size_t truebed_heights_suspect_group_count(const struct truebed_heights *heights);

/**
 * One group of readings, from 0 on, the worst first, of which one is suspected to be wrong and no data
 * can say which: the readings by index, and about by how much, mm. Read all of them again.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_UNKNOWN for a group that is not
 * there.
 */
int32_t truebed_heights_suspect_group(const struct truebed_heights *heights,
                                      size_t at,
                                      double *blunder_mm,
                                      size_t *buffer,
                                      size_t capacity,
                                      size_t *count);

/**
 * The other reading with which a blunder in one reading is most easily confused, by index, and the
 * correlation of the normalised residuals of both, from -1 to 1; at either end no data can tell them
 * apart. Where nothing checks the reading, `*other` is that reading itself and `*correlation` is NaN.
 * It takes some time in a large survey, which is spent anew in every call.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_UNKNOWN for a reading that is not there.
 */
int32_t truebed_heights_separability(const struct truebed_heights *heights,
                                     size_t reading,
                                     size_t *other,
                                     double *correlation);

/**
 * How many levels and lasers have an error that nothing checks. 0 for NULL; the call cannot fail.
 */
size_t truebed_heights_unchecked_count(const struct truebed_heights *heights);

/**
 * One level or laser, from 0 on, whose error enters all its readings alike and nothing checks: a
 * TRUEBED_UNCHECKED_ number, and the name of the level or set-up, which belongs to the heights.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_UNKNOWN for one that is not there.
 */
int32_t truebed_heights_unchecked(const struct truebed_heights *heights,
                                  size_t at,
                                  int32_t *what,
                                  const char **name);

/**
 * The readings left out, by index.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_heights_left_out(const struct truebed_heights *heights,
                                 size_t *buffer,
                                 size_t capacity,
                                 size_t *count);

/**
 * The number of set-ups that the readings were taken from. 0 for NULL; the call cannot fail.
 */
size_t truebed_heights_setup_count(const struct truebed_heights *heights);

/**
 * Writes the height of one set-up, by index, to `*setup`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN for a set-up that is not there.
 */
int32_t truebed_heights_setup(const struct truebed_heights *heights,
                              size_t at,
                              struct truebed_offset *setup);

/**
 * The number of levels that the readings name. 0 for NULL; the call cannot fail.
 */
size_t truebed_heights_level_count(const struct truebed_heights *heights);

/**
 * Writes the zero error of one level, by index, to `*level`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN for a level that is not there.
 */
int32_t truebed_heights_level(const struct truebed_heights *heights,
                              size_t at,
                              struct truebed_offset *level);

/**
 * The number of loops that the readings make. 0 for NULL; the call cannot fail.
 */
size_t truebed_heights_closure_count(const struct truebed_heights *heights);

/**
 * One loop of readings, by index: its readings by index, in order; its misclosure and the standard
 * uncertainty of that, mm.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_UNKNOWN for a loop that is not
 * there.
 */
int32_t truebed_heights_closure(const struct truebed_heights *heights,
                                size_t at,
                                double *mm,
                                double *sigma_mm,
                                size_t *buffer,
                                size_t capacity,
                                size_t *count);

/** @} */

/**
 * @defgroup truebed_limits Limits
 * what counts as level.
 * @{
 */

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
 * Bit of truebed_limits.asked: line_width_mm counts instead of 20 mm.
 */
#define TRUEBED_LIMIT_LINE_WIDTH 16

/**
 * In a finding: a limit on supports that are named; truebed_limits.asked needs no bit for those.
 */
#define TRUEBED_LIMIT_NAMED 32

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
   * Their number.
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
   * line, mm; 20 mm without its bit (what a tape leaves; common practice).
   */
  double line_width_mm;
  /**
   * Limits on supports that are named; NULL for none.
   */
  const struct truebed_named_limit *named;
  /**
   * Their number.
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
  /**
   * TRUEBED_LIMIT_ bits of the limits that a preset asks for, as `truebed_preset_limits` sets them: where
   * one of these binds no two points, a verdict is TRUEBED_CANNOT_TELL and no call fails.
   */
  uint32_t by_preset;
} truebed_limits;

/** @} */

/**
 * @defgroup truebed_preset Presets
 * limits that a published specification asks for.
 * @{
 */

/**
 * Preset: the World Pool-Billiard Association's specifications of tables, effective November 2001,
 * §2-5: ± 0.020 in along, ± 0.010 in across, joints within 0.005 in. The document limits flatness and
 * gives no figure for level; these limits ask the same figures of the heights, line by line. Ask for
 * an overall limit of your own where the bed must be level.
 */
#define TRUEBED_PRESET_WPA_2001 1

/**
 * Adds to `*limits` those that a preset, by its TRUEBED_PRESET_ number, asks for and that are not
 * asked for yet.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_BAD_VALUE for an unknown preset.
 */
int32_t truebed_limits_add_preset(struct truebed_limits *limits, int32_t preset);

/**
 * The document that a preset is taken from: a text that is never freed. NULL for a number that is no
 * preset; the call cannot fail.
 */
const char *truebed_preset_document(int32_t preset);

/** @} */

/**
 * @defgroup truebed_problem Problems
 * supports, stock, limits and options, to be planned.
 * @{
 */

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
 * The risk is one of each difference of tops by itself; all limits together are met less often.
 */
#define TRUEBED_RISK_OF_EACH 0

/**
 * The risk is one of all limits together. Where the plan is not proven to be the best of such plans,
 * its status is TRUEBED_PLAN_BUDGET.
 */
#define TRUEBED_RISK_OF_ALL 1

/**
 * The counts of the stock are what is left on hand beside the pieces in place.
 */
#define TRUEBED_STOCK_LEFT 0

/**
 * The counts of the stock are all there are, the pieces in place among them.
 */
#define TRUEBED_STOCK_WHOLE 1

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
  /**
   * The risk at which every limit is guarded, above 0 and below 0.5: a difference of tops that the
   * plan foresees is within its limit with a probability of at least one less this, by the
   * covariance in the problem. 0 (the default) for no guard bands.
   */
  double risk;
  /**
   * What the risk is one of, a TRUEBED_RISK_OF_ number: each difference of tops by itself
   * (TRUEBED_RISK_OF_EACH, the default) or all limits together (TRUEBED_RISK_OF_ALL).
   */
  int32_t risk_of;
  /**
   * What the counts of the stock are where stacks are in place, a TRUEBED_STOCK_ number: what is
   * left on hand (TRUEBED_STOCK_LEFT, the default) or the whole stock, the pieces in place among
   * it (TRUEBED_STOCK_WHOLE).
   */
  int32_t stock_is;
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
   * The number of pieces in all.
   */
  size_t piece_count;
  /**
   * The number of pieces under each support, one value for each support.
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
   * Their number.
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
   * The number of supports.
   */
  size_t support_count;
  /**
   * The shims on hand, shared by all supports.
   */
  const struct truebed_shim *stock;
  /**
   * The number of kinds of shim.
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
   * The number of joints.
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
   * Their number.
   */
  size_t only_under_count;
  /**
   * Covariance of the heights of the supports, mm², support_count * support_count values row by
   * row, as from `truebed_heights_covariance_mm2`; NULL where it is not known.
   */
  const double *covariance_mm2;
  /**
   * Standard uncertainty of the thickness of a piece of each kind, mm, by which pieces of one kind
   * differ from each other: stock_count values; NULL for none.
   */
  const double *stock_sigmas_mm;
  /**
   * Standard uncertainty of the thickness, mm, that all pieces of a kind share, as those from one
   * mislabelled tin do: stock_count values; NULL for none.
   */
  const double *stock_common_sigmas_mm;
  /**
   * The name of each kind of shim, UTF-8 and ended by NUL, shown wherever a piece is: stock_count
   * pointers, each NULL where its kind has none; NULL for none at all.
   */
  const char *const *stock_names;
  /**
   * The survey that the heights come from, or NULL. The verdict that a plan foresees is
   * TRUEBED_CANNOT_TELL where its readings contradict each other or where it would be a guess.
   */
  const struct truebed_heights *survey;
} truebed_problem;

/**
 * Fills `*options` with the defaults. `struct_size` is sizeof(truebed_plan_options), so that a
 * library with larger options than the caller's never writes behind them.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
 */
int32_t truebed_plan_options_init(struct truebed_plan_options *options, size_t struct_size);

/** @} */

/**
 * @defgroup truebed_plan Plans
 * which shims go under which support.
 * @{
 */

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
   * The number of supports.
   */
  size_t support_count;
  /**
   * The number of kinds of shim in the stock.
   */
  size_t kind_count;
} truebed_plan_summary;

/**
 * Finds which shims go under which support. `*out` becomes the plan; free it with
 * `truebed_plan_free`. The problem may be freed at once. Millimetres count to the nearest
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
 * Writes the summary of a plan to `*summary`.
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
 * its top, less the height that was read once the plan was carried out. `heights_mm` are the
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
 * Pieces of each kind left on hand once the plan is carried out, in the order of the stock, or
 * TRUEBED_UNLIMITED. The next pass, with this plan in place, has them on hand.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_plan_left(const struct truebed_plan *plan,
                          int64_t *buffer,
                          size_t capacity,
                          size_t *count);

/**
 * Supports, by index, that no stack from the whole stock brings within the limits, whatever
 * stacks the others get.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_plan_unreachable(const struct truebed_plan *plan,
                                 size_t *buffer,
                                 size_t capacity,
                                 size_t *count);

/**
 * Frees a plan. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_plan_free(struct truebed_plan *plan);

/** @} */

/**
 * @defgroup truebed_plans Several plans
 * the trade-off, and many problems in one call.
 * @{
 */

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
 * All problems are checked before any is solved: where one is bad the call fails, and the last
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
 * Plans many problems as `truebed_plan_many_until` does, on at most `threads` threads; 0 stands for
 * one for each core. The plans are the same on any number of threads. Where no thread can be started,
 * the thread of this call does the work; it then asks `stop` as `truebed_plan_shims_until` does.
 *
 * Errors: those of `truebed_plan_shims`.
 */
int32_t truebed_plan_many_on(size_t threads,
                             const struct truebed_problem *const *problems,
                             size_t count,
                             int32_t (*stop)(void *context, size_t done),
                             void *context,
                             struct truebed_plans **out);

/**
 * The number of plans in a list. 0 for NULL; the call cannot fail.
 */
size_t truebed_plans_count(const struct truebed_plans *plans);

/**
 * One plan of a list, by index. `*out` becomes the plan, which belongs to the list; do not free it.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_UNKNOWN for a plan that is not there.
 */
int32_t truebed_plans_get(const struct truebed_plans *plans,
                          size_t at,
                          const struct truebed_plan **out);

/**
 * Frees a list with all its plans. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_plans_free(struct truebed_plans *plans);

/** @} */

/**
 * @defgroup truebed_shortfall Shortfalls
 * why a stock is not enough, and what would help.
 * @{
 */

/**
 * A shortfall as a whole.
 */
typedef struct truebed_shortfall_summary {
  /**
   * sizeof(truebed_shortfall_summary), set by the caller.
   */
  size_t struct_size;
  /**
   * 1 if every part of the conflict is needed; 0 if that is not known, since the budget ran out.
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
   * The number of supports in conflict.
   */
  size_t support_count;
  /**
   * The number of limits in conflict.
   */
  size_t limit_count;
  /**
   * The number of scarce kinds.
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
 * Finds why no plan meets the limits, and the cheapest addition to the stock with which one does:
 * from a catalogue of `catalogue_count` kinds, whose counts do not matter, or where `catalogue` is
 * NULL from more of the kinds in the stock. `*out` becomes the shortfall, free it with
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
 * Writes the summary of a shortfall to `*summary`.
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
 * and then those of the catalogue. It belongs to the shortfall; do not free it.
 *
 * Errors: TRUEBED_NULL_POINTER.
 */
int32_t truebed_shortfall_plan(const struct truebed_shortfall *shortfall,
                               const struct truebed_plan **out);

/**
 * The flattest plan that the stock allows, whatever the limits: proven so where the bound in its
 * summary is its worst deviation. It belongs to the shortfall; do not free it.
 *
 * Errors: TRUEBED_NULL_POINTER.
 */
int32_t truebed_shortfall_flattest(const struct truebed_shortfall *shortfall,
                                   const struct truebed_plan **out);

/**
 * Frees a shortfall with its plans. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_shortfall_free(struct truebed_shortfall *shortfall);

/** @} */

/**
 * @defgroup truebed_rule Rules of decision
 * how a verdict is reached from uncertain heights.
 * @{
 */

/**
 * Decision rule: ISO 14253-1, 2017 edition. Limits are met where the probability of that is at
 * least 95 %, not met where that of the contrary is; between the two the verdict is
 * TRUEBED_CANNOT_TELL.
 */
#define TRUEBED_RULE_ISO_14253_1 0

/**
 * Decision rule: the same for a risk that the caller chooses, above 0 and below 0.5.
 */
#define TRUEBED_RULE_GUARD_BAND 1

/**
 * Decision rule: simple acceptance (JCGM 106:2012, 8.2). The heights are held against the limits as
 * read, whatever their uncertainty.
 */
#define TRUEBED_RULE_SIMPLE_ACCEPTANCE 2

/**
 * Conformity: the limits are not met.
 */
#define TRUEBED_NOT_MET 0

/**
 * Conformity: the limits are met.
 */
#define TRUEBED_MET 1

/**
 * Conformity: at the risk that is asked for, the readings do not decide.
 */
#define TRUEBED_CANNOT_TELL -1

/**
 * What a verdict rests on: no uncertainties are given, and the heights are held against the limits
 * as read.
 */
#define TRUEBED_BASIS_ESTIMATES 0

/**
 * What a verdict rests on: the differences of height that the limits bind are known exactly.
 */
#define TRUEBED_BASIS_EXACT 1

/**
 * What a verdict rests on: the probability that the limits are met.
 */
#define TRUEBED_BASIS_PROBABILITY 2

/** @} */

/**
 * @defgroup truebed_verdict Verdicts
 * heights against limits.
 * @{
 */

/**
 * Along the bed, x.
 */
#define TRUEBED_AXIS_ALONG 0

/**
 * Across the bed, y.
 */
#define TRUEBED_AXIS_ACROSS 1

/**
 * What the probability takes to be known beforehand: nothing; every height is equally likely.
 */
#define TRUEBED_BEFOREHAND_NOTHING 0

/**
 * What the probability takes to be known beforehand: what the plan predicted.
 */
#define TRUEBED_BEFOREHAND_PREDICTION 1

/**
 * VerdictReason: a limit of the preset binds no two points, so nothing was held against it.
 */
#define TRUEBED_REASON_NOTHING_BOUND 1

/**
 * VerdictReason: the readings contradict each other by more than their uncertainties explain.
 */
#define TRUEBED_REASON_READINGS_CONTRADICT 2

/**
 * VerdictReason: the heights that were read contradict what the plan predicted.
 */
#define TRUEBED_REASON_PREDICTION_CONTRADICTED 3

/**
 * VerdictReason: the plane of a laser may lean, and the figures do not count it, since the places of its
 * points are not known.
 */
#define TRUEBED_REASON_LEAN_NOT_COUNTED 4

/**
 * VerdictReason: a reading that the others speak against was left out, and no data can tell it from another
 * that was not.
 */
#define TRUEBED_REASON_LEFT_OUT_BY_CHANCE 5

/**
 * What a verdict rests on besides the heights. All zero is valid: nothing more is known.
 */
typedef struct truebed_evidence {
  /**
   * sizeof(truebed_evidence), set by the caller.
   */
  size_t struct_size;
  /**
   * How the verdict is reached: a TRUEBED_RULE_ number.
   */
  int32_t rule;
  /**
   * 1 to give a verdict although the readings contradict each other or what the plan predicted;
   * else 0. The contradiction is still reported.
   */
  int32_t overrule;
  /**
   * The greatest probability of being wrong, for TRUEBED_RULE_GUARD_BAND; 0 for the others.
   */
  double risk;
  /**
   * The survey that the heights come from, whose global test and doubts are looked at; or NULL.
   */
  const struct truebed_heights *heights;
  /**
   * The level of the global test: below this probability of their residuals the readings contradict
   * each other, and the verdict is TRUEBED_CANNOT_TELL. 0 stands for 0.05.
   */
  double level;
  /**
   * 1 to multiply the covariance by the variance factor of the survey, with Student's t in place of
   * the normal distribution, and to leave the global test aside; else 0.
   */
  int32_t scale;
  /**
   * The heights that a plan predicted, mm, one a point: `truebed_plan_tops_mm`. Or NULL.
   */
  const double *predicted_mm;
  /**
   * Their covariance, mm², row by row, of `truebed_plan_predicted_covariance_mm2`; needed with
   * `predicted_mm`, else NULL.
   */
  const double *predicted_covariance_mm2;
  /**
   * By how much each point may have settled since, as a standard uncertainty, mm.
   */
  double settlement_mm;
} truebed_evidence;

/**
 * A verdict as a whole.
 */
typedef struct truebed_verdict_summary {
  /**
   * sizeof(truebed_verdict_summary), set by the caller.
   */
  size_t struct_size;
  /**
   * 1 if the heights as read, whatever their uncertainty, meet all limits; else 0. The verdict,
   * which counts the uncertainty, is `conformity`.
   */
  int32_t met;
  /**
   * The verdict on all limits together: TRUEBED_MET, TRUEBED_NOT_MET or TRUEBED_CANNOT_TELL.
   */
  int32_t conformity;
  /**
   * What the verdict rests on, a TRUEBED_BASIS_ number.
   */
  int32_t basis;
  /**
   * The probability that all limits are met; NaN where no uncertainties are given.
   */
  double probability;
  /**
   * Standard error of that number, which a simulation with fixed draws leaves; 0 where it is
   * computed in closed form, NaN where no uncertainties are given.
   */
  double probability_error;
  /**
   * The slope of the target along, um/m: of those that the limits allow the one nearest to level
   * with which they are met; 0 where there is none.
   */
  int64_t slope_along_um_per_m;
  /**
   * The slope of the target across, um/m.
   */
  int64_t slope_across_um_per_m;
  /**
   * The number of findings: see `truebed_verdict_get`.
   */
  size_t finding_count;
  /**
   * The number of findings on slopes: see `truebed_verdict_slope`.
   */
  size_t slope_count;
  /**
   * How many reasons: see `truebed_verdict_reason`.
   */
  size_t reason_count;
  /**
   * What the probability takes to be known of the heights before they were read: a
   * TRUEBED_BEFOREHAND_ number.
   */
  int32_t beforehand;
  /**
   * The probability of reading heights at least so far beyond the limits although the true heights
   * meet them: at most this. TRUEBED_NOT_MET asks that it is at most the risk. NaN where no such
   * test is made.
   */
  double excess_p;
} truebed_verdict_summary;

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
   * 1 if found_mm, as read, is at most allowed_mm; else 0. The verdict is `conformity`.
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
  /**
   * What is left to the limit, mm: below zero beyond it.
   */
  double margin_mm;
  /**
   * The same in inches.
   */
  double margin_in;
  /**
   * Standard uncertainty of the height of the highest point above the lowest, mm; NaN where no
   * uncertainties are given.
   */
  double sigma_mm;
  /**
   * The probability that this limit by itself is met; NaN where no uncertainties are given.
   */
  double probability;
  /**
   * Standard error of that number; 0 where it is computed in closed form, NaN where no uncertainties
   * are given.
   */
  double probability_error;
  /**
   * The verdict on this limit by itself: TRUEBED_MET, TRUEBED_NOT_MET or TRUEBED_CANNOT_TELL.
   */
  int32_t conformity;
} truebed_finding;

/**
 * Whether a limit on the slope of the target is met.
 */
typedef struct truebed_slope_finding {
  /**
   * sizeof(truebed_slope_finding), set by the caller.
   */
  size_t struct_size;
  /**
   * Along which axis: TRUEBED_AXIS_ALONG or TRUEBED_AXIS_ACROSS.
   */
  int32_t axis;
  /**
   * 1 if found_mm_per_m, as read, is at most allowed_mm_per_m; else 0. The verdict is
   * `conformity`.
   */
  int32_t met;
  /**
   * The verdict on this limit: TRUEBED_MET, TRUEBED_NOT_MET or TRUEBED_CANNOT_TELL.
   */
  int32_t conformity;
  /**
   * The least slope along this axis above which the limits on heights are met, whatever the slope
   * along the other axis, mm/m; NaN where they are met above none.
   */
  double found_mm_per_m;
  /**
   * The greatest slope that is allowed, mm/m.
   */
  double allowed_mm_per_m;
  /**
   * The probability that this limit is met; NaN where no uncertainties are given.
   */
  double probability;
  /**
   * Standard error of that number; NaN where no uncertainties are given.
   */
  double probability_error;
} truebed_slope_finding;

/**
 * Why a verdict is TRUEBED_CANNOT_TELL, whatever the probability; or what the caller overruled.
 */
typedef struct truebed_reason {
  /**
   * sizeof(truebed_reason), set by the caller.
   */
  size_t struct_size;
  /**
   * Why: a TRUEBED_REASON_ number.
   */
  int32_t kind;
  /**
   * The limit that binds nothing, by its TRUEBED_LIMIT_ bit; else 0.
   */
  uint32_t limit;
  /**
   * The probability of a contradiction at least so large if all stated uncertainties are right; NaN
   * where there is none.
   */
  double p_value;
  /**
   * The level of the test; NaN where there is none.
   */
  double level;
} truebed_reason;

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
 * Holds heights against limits as `truebed_check` does, until `stop` says to stop: see
 * `truebed_plan_shims_until`. What takes long is the search for a slope of the target. A call that is
 * stopped has no answer.
 *
 * Errors: those of `truebed_check`, and TRUEBED_STOPPED.
 */
int32_t truebed_check_until(const double *xy_mm,
                            const double *heights_mm,
                            size_t count,
                            const struct truebed_limits *limits,
                            const struct truebed_joint *joints,
                            size_t joint_count,
                            int32_t (*stop)(void *context),
                            void *context,
                            struct truebed_verdict **out);

/**
 * Holds the heights of `count` points against the limits as `truebed_check` does, and counts their
 * uncertainty: normal errors with a covariance of `count` * `count` values in mm², row by row. That of
 * `truebed_heights_covariance_mm2` will do, and may be singular, since only differences of height
 * count. The verdict is reached by `rule`, a TRUEBED_RULE_ number, and `risk`, the greatest
 * probability of being wrong: above 0 and below 0.5 for TRUEBED_RULE_GUARD_BAND, 0 for the others.
 *
 * The probability of all limits together is computed from the whole covariance. A limit over two
 * points has a probability in closed form; one over more is simulated with draws that never change,
 * to a standard error of 2.5e-4, or up to 1e-3 where that does not change the verdict. Where the
 * target may slope, probabilities are those of the limits being met above some slope that is
 * allowed.
 *
 * Errors: those of `truebed_check`; TRUEBED_BAD_VALUE for a covariance with values that are not
 * finite, not symmetric or not positive semidefinite, an unknown rule and a risk out of range.
 */
int32_t truebed_assess(const double *xy_mm,
                       const double *heights_mm,
                       const double *covariance_mm2,
                       size_t count,
                       const struct truebed_limits *limits,
                       const struct truebed_joint *joints,
                       size_t joint_count,
                       int32_t rule,
                       double risk,
                       struct truebed_verdict **out);

/**
 * Holds heights against limits as `truebed_assess` does, with what else is known of them.
 *
 * Errors: those of `truebed_assess`; TRUEBED_BAD_VALUE for a level that is not between 0 and 1, flags
 * that are neither 0 nor 1, and a settlement below 0.
 */
int32_t truebed_assess_with(const double *xy_mm,
                            const double *heights_mm,
                            const double *covariance_mm2,
                            size_t count,
                            const struct truebed_limits *limits,
                            const struct truebed_joint *joints,
                            size_t joint_count,
                            const struct truebed_evidence *evidence,
                            struct truebed_verdict **out);

/**
 * Holds heights against limits as `truebed_assess_with` does, until `stop` says to stop: see
 * `truebed_plan_shims_until`. A call that is stopped has no answer.
 *
 * Errors: those of `truebed_assess_with`, and TRUEBED_STOPPED.
 */
int32_t truebed_assess_until(const double *xy_mm,
                             const double *heights_mm,
                             const double *covariance_mm2,
                             size_t count,
                             const struct truebed_limits *limits,
                             const struct truebed_joint *joints,
                             size_t joint_count,
                             const struct truebed_evidence *evidence,
                             int32_t (*stop)(void *context),
                             void *context,
                             struct truebed_verdict **out);

/**
 * The covariance, mm², row by row, of the heights that a plan for a problem predicts for the time when it
 * is carried out (`truebed_plan_tops_mm`): that of the heights with the variances of its pieces. Both
 * together are the prediction of a `truebed_evidence`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_BUFFER_TOO_SMALL; TRUEBED_BAD_VALUE for a
 * problem whose heights and pieces are exact; TRUEBED_BAD_SHAPE for a plan of another problem.
 */
int32_t truebed_plan_predicted_covariance_mm2(const struct truebed_problem *problem,
                                              const struct truebed_plan *plan,
                                              double *buffer,
                                              size_t capacity,
                                              size_t *count);

/**
 * The verdict to expect once a plan is carried out, for the problem that it was
 * found for. It counts the covariance of the heights in the problem and the uncertainties of the pieces
 * that are put in or taken out. Where the problem has neither, it is the verdict on the tops as planned. `rule` and
 * `risk` are those of `truebed_assess`; the risk in the options of the problem plays no part. `*out`
 * becomes the verdict; free it with `truebed_verdict_free`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for an unknown rule and a
 * risk out of range, TRUEBED_BAD_SHAPE for a plan of another problem, and those of
 * `truebed_plan_shims`.
 */
int32_t truebed_plan_predict(const struct truebed_problem *problem,
                             const struct truebed_plan *plan,
                             int32_t rule,
                             double risk,
                             struct truebed_verdict **out);

/**
 * 1 if the heights as read, whatever their uncertainty, meet all limits; else 0. The verdict, which
 * counts the uncertainty, is `conformity` in the summary. 0 for NULL; the call cannot fail.
 */
int32_t truebed_verdict_is_met(const struct truebed_verdict *verdict);

/**
 * Writes the summary of a verdict to `*summary`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
 */
int32_t truebed_verdict_get_summary(const struct truebed_verdict *verdict,
                                    struct truebed_verdict_summary *summary);

/**
 * The number of findings of a verdict. 0 for NULL; the call cannot fail.
 */
size_t truebed_verdict_count(const struct truebed_verdict *verdict);

/**
 * Writes one finding of a verdict, by index, to `*finding`.
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
 * Writes one finding on the slope of the target, by index, to `*finding`. Where the limits allow a
 * slope there is one for each axis, else there is none.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN for a finding that is not
 * there.
 */
int32_t truebed_verdict_slope(const struct truebed_verdict *verdict,
                              size_t at,
                              struct truebed_slope_finding *finding);

/**
 * Writes one reason of a verdict, from 0 on, to `*reason`: why it is TRUEBED_CANNOT_TELL whatever the
 * probability, or what the caller overruled.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN for one that is not there.
 */
int32_t truebed_verdict_reason(const struct truebed_verdict *verdict,
                               size_t at,
                               struct truebed_reason *reason);

/**
 * The points, by index, that lie on no line along (TRUEBED_AXIS_ALONG) or across, where a limit on
 * such lines is asked for: it does not bind them.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_UNKNOWN for an axis that is not there.
 */
int32_t truebed_verdict_off_lines(const struct truebed_verdict *verdict,
                                  int32_t axis,
                                  size_t *buffer,
                                  size_t capacity,
                                  size_t *count);

/**
 * Frees a verdict. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_verdict_free(struct truebed_verdict *verdict);

/** @} */

/**
 * @defgroup truebed_next What to read next
 * the readings that would most reduce the doubt.
 * @{
 */

/**
 * Next: the limits are met, or are not met, and no candidate is likely to change that: each of them
 * with a probability of at most the risk (0.05 where the rule has none).
 */
#define TRUEBED_NEXT_SETTLED 0

/**
 * Next: at least one candidate is likely to change the verdict.
 */
#define TRUEBED_NEXT_READ_ON 1

/**
 * Next: the readings do not tell, and no candidate by itself is likely to change that.
 */
#define TRUEBED_NEXT_NONE_HELPS 2

/**
 * What is to be proven, of which points of a survey.
 */
typedef struct truebed_claim {
  /**
   * sizeof(truebed_claim), set by the caller.
   */
  size_t struct_size;
  /**
   * Ids of the points, texts that end with a NUL.
   */
  const char *const *points;
  /**
   * The number of points.
   */
  size_t point_count;
  /**
   * x and y of each in turn, mm; NULL where the limits ask for neither lengthwise nor crosswise
   * lines nor slopes.
   */
  const double *xy_mm;
  /**
   * What each is lifted by before it is judged, mm, as by a plan; NULL for nothing.
   */
  const double *lifts_mm;
  /**
   * What counts as level.
   */
  const struct truebed_limits *limits;
  /**
   * Joints, whose sides are indices of the points here; NULL for none.
   */
  const struct truebed_joint *joints;
  /**
   * The number of joints.
   */
  size_t joint_count;
  /**
   * How the verdict is reached, a TRUEBED_RULE_ number.
   */
  int32_t rule;
  /**
   * The greatest probability of being wrong, for TRUEBED_RULE_GUARD_BAND; 0 for the others.
   */
  double risk;
} truebed_claim;

/**
 * What the readings prove, as a whole.
 */
typedef struct truebed_next_summary {
  /**
   * sizeof(truebed_next_summary), set by the caller.
   */
  size_t struct_size;
  /**
   * 1 if the readings are enough, that is if status is TRUEBED_NEXT_SETTLED; else 0.
   */
  int32_t enough;
  /**
   * The doubt: the probability of being wrong about all limits together, if one has to say
   * whether they are met. It is ½ at the most.
   */
  double doubt;
  /**
   * The number of candidates.
   */
  size_t reading_count;
  /**
   * Whether to read on: a TRUEBED_NEXT_ number.
   */
  int32_t status;
} truebed_next_summary;

/**
 * What one further reading would do.
 */
typedef struct truebed_next_reading {
  /**
   * sizeof(truebed_next_reading), set by the caller.
   */
  size_t struct_size;
  /**
   * The candidate, by index.
   */
  size_t candidate;
  /**
   * The doubt that it is expected to leave: never more than there is now.
   */
  double doubt;
  /**
   * The probability that the verdict is another one after it.
   */
  double changes;
} truebed_next_reading;

/**
 * Finds what further readings would do for a claim: the doubt that each candidate by itself is
 * expected to leave. The candidates are the readings of a survey of their own; what else that one
 * holds does not count, nor do the values of the readings, only their uncertainties. One that is read
 * from a set-up or with a level of the survey shares the errors of these. `*out` becomes the answer;
 * free it with `truebed_next_readings_free`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_NOT_UTF8; TRUEBED_BAD_SHAPE for no
 * candidates; TRUEBED_UNKNOWN for points that the survey does not have; those of `truebed_adjust`,
 * also for the candidates, by their index behind the readings; those of `truebed_assess`.
 */
int32_t truebed_read_next(const struct truebed_survey *survey,
                          const struct truebed_survey *candidates,
                          const struct truebed_claim *claim,
                          struct truebed_next_readings **out);

/**
 * Finds what further readings would do as `truebed_read_next` does, until `stop` says to stop: see
 * `truebed_plan_shims_until`. A call that is stopped has no answer.
 *
 * Errors: those of `truebed_read_next`, and TRUEBED_STOPPED.
 */
int32_t truebed_read_next_until(const struct truebed_survey *survey,
                                const struct truebed_survey *candidates,
                                const struct truebed_claim *claim,
                                int32_t (*stop)(void *context),
                                void *context,
                                struct truebed_next_readings **out);

/**
 * Writes the summary of an answer to `*summary`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
 */
int32_t truebed_next_readings_get_summary(const struct truebed_next_readings *next,
                                          struct truebed_next_summary *summary);

/**
 * Writes what one candidate would do to `*reading`: the one that leaves the least doubt is at 0.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_UNKNOWN for an index out of range.
 */
int32_t truebed_next_readings_get(const struct truebed_next_readings *next,
                                  size_t at,
                                  struct truebed_next_reading *reading);

/**
 * The verdict by the readings that there are. It belongs to the answer; do not free it.
 *
 * Errors: TRUEBED_NULL_POINTER.
 */
int32_t truebed_next_readings_verdict(const struct truebed_next_readings *next,
                                      const struct truebed_verdict **out);

/**
 * Frees an answer with its verdict. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_next_readings_free(struct truebed_next_readings *next);

/** @} */

/**
 * @defgroup truebed_risks Global risks
 * how often a rule of acceptance is wrong over many beds.
 * @{
 */

/**
 * Prior: a normal distribution, by its mean and sigma.
 */
#define TRUEBED_PRIOR_NORMAL 0

/**
 * Prior: a gamma distribution, of what cannot be below zero, as flatness, by its shape and scale:
 * its mean is shape · scale, its variance shape · scale².
 */
#define TRUEBED_PRIOR_GAMMA 1

/**
 * What is known of a quantity before it is measured. Numbers of the other kind are 0.
 */
typedef struct truebed_prior {
  /**
   * sizeof(truebed_prior), set by the caller.
   */
  size_t struct_size;
  /**
   * Which distribution, a TRUEBED_PRIOR_ number.
   */
  int32_t kind;
  /**
   * Of a normal one, in the unit of what is measured.
   */
  double mean;
  /**
   * Of a normal one, its standard deviation, in that unit.
   */
  double sigma;
  /**
   * Of a gamma one, without a unit.
   */
  double shape;
  /**
   * Of a gamma one, in the unit of what is measured.
   */
  double scale;
} truebed_prior;

/**
 * How often a rule of acceptance is wrong.
 */
typedef struct truebed_risks {
  /**
   * sizeof(truebed_risks), set by the caller.
   */
  size_t struct_size;
  /**
   * The probability that a bed is accepted and does not conform.
   */
  double consumer;
  /**
   * The probability that a bed is rejected and does conform.
   */
  double producer;
  /**
   * The probability that a bed does not conform.
   */
  double nonconforming;
} truebed_risks;

/**
 * The risks (JCGM 106:2012, 9.5) of accepting what is measured to be at most `acceptance` where at
 * most `tolerance` is allowed, with a standard uncertainty of measurement `sigma` and by what is
 * known of beds before they are measured; all in one unit. Writes them to `*risks`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for an unknown kind of prior,
 * uncertainties and scales that are not from 1e-9 to 1e9, shapes not from 1e-3 to 1e4, a mean or a
 * tolerance not from -1e9 to 1e9, an acceptance that is not finite, and parameters of the other kind.
 */
int32_t truebed_global_risks(const struct truebed_prior *prior,
                             double sigma,
                             double tolerance,
                             double acceptance,
                             struct truebed_risks *risks);

/**
 * The guard band that brings the consumer's risk of `truebed_global_risks` down to `risk`: what is
 * measured is accepted up to `tolerance` less `*band`, which is below zero where the risk is smaller
 * than asked for without any.
 *
 * Errors: those of `truebed_global_risks`; TRUEBED_BAD_VALUE for a risk that is not above 0 and below
 * 0.5, or no smaller than the probability that a bed does not conform, so that all may be accepted.
 */
int32_t truebed_guard_band(const struct truebed_prior *prior,
                           double sigma,
                           double tolerance,
                           double risk,
                           double *band);

/** @} */

/**
 * @defgroup truebed_plane Planes
 * reference planes, flatness, and how a frame stands.
 * @{
 */

/**
 * Kind of plane: least squares of the vertical residuals.
 */
#define TRUEBED_PLANE_LEAST_SQUARES 0

/**
 * Kind of plane: least squares of the distances along the normal (ISO 12781-1 LSPL).
 */
#define TRUEBED_PLANE_ORTHOGONAL 1

/**
 * Kind of plane: half way between the two parallel planes that hold all points and are closest
 * together along the vertical.
 */
#define TRUEBED_PLANE_MINIMUM_ZONE 2

/**
 * Kind of plane: the same along the normal (ISO 12781-1 MZPL).
 */
#define TRUEBED_PLANE_MINIMUM_ZONE_NORMAL 3

/**
 * Kind of plane: the underside of a rigid frame that stands on the points, its centre of mass over
 * their mean.
 */
#define TRUEBED_PLANE_RESTING 4

/**
 * All heights have the same uncertainty, which is found from the residuals; there are no values.
 */
#define TRUEBED_KNOWN_ALIKE 0

/**
 * One value a height: inverse variances up to a common factor, above zero.
 */
#define TRUEBED_KNOWN_WEIGHTS 1

/**
 * One value a height: standard uncertainties, mm.
 */
#define TRUEBED_KNOWN_SIGMAS 2

/**
 * The covariance of the heights, mm^2, row by row: the square of their count in values.
 */
#define TRUEBED_KNOWN_COVARIANCE 3

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
  /**
   * Largest deviation above the plane (ISO 12781-1 FLTp), mm, 0 or more.
   */
  double above_mm;
  /**
   * Largest deviation below the plane (ISO 12781-1 FLTv), mm, 0 or more.
   */
  double below_mm;
} truebed_plane;

/**
 * The uncertainty of a least-squares plane.
 */
typedef struct truebed_least_squares_fit {
  /**
   * sizeof(truebed_least_squares_fit), set by the caller.
   */
  size_t struct_size;
  /**
   * Covariance of offset (mm), slope along x and slope along y, row by row: from given sigmas or
   * covariance, a priori; else from the residuals, and NaN where there are none.
   */
  double covariance[9];
  /**
   * Standard deviation of an observation of weight 1, mm; with sigmas or a covariance a number
   * near 1 where the residuals are what these let expect. NaN where dof is 0.
   */
  double residual_sd;
  /**
   * Degrees of freedom: points less three.
   */
  size_t dof;
} truebed_least_squares_fit;

/**
 * A point that holds a zone.
 */
typedef struct truebed_contact {
  /**
   * Index of the point.
   */
  size_t point;
  /**
   * 1 on the upper plane, 0 on the lower one.
   */
  int32_t above;
  /**
   * Its share: those of either plane add up to 1/2.
   */
  double share;
} truebed_contact;

/**
 * What proves a minimum zone.
 */
typedef struct truebed_zone {
  /**
   * sizeof(truebed_zone), set by the caller.
   */
  size_t struct_size;
  /**
   * No zone is narrower than this, mm.
   */
  double bound_mm;
  /**
   * 1 if width and bound are the same but for rounding, in the normal direction for all
   * directions of space; else 0.
   */
  int32_t proven;
  /**
   * The number of contacts, 0 to 4; none for three points, which lie in a plane.
   */
  size_t contact_count;
  /**
   * The points that hold the zone. With s = +1 above and -1 below, the sums over them of
   * share * s, share * s * x and share * s * y are 0, so for any plane the largest and smallest
   * deviation differ by at least twice the sum of share * s * z.
   */
  struct truebed_contact contacts[4];
} truebed_zone;

/**
 * The stance of a rigid frame.
 */
typedef struct truebed_stance {
  /**
   * sizeof(truebed_stance), set by the caller.
   */
  size_t struct_size;
  /**
   * The three supports whose triangle holds the centre of mass, ascending.
   */
  size_t supports[3];
  /**
   * The share of the weight that each of the three bears.
   */
  double shares[3];
  /**
   * Distance in plan from the centre of mass to the nearest edge of the stance, mm.
   */
  double margin_mm;
  /**
   * 1 if the centre of mass lies within the stance, 0 if on an edge of it.
   */
  int32_t stable;
  /**
   * The number of edges of the stance.
   */
  size_t rock_count;
} truebed_stance;

/**
 * A frame pushed over an edge of what it stands on, until it touches the next support.
 */
typedef struct truebed_rock {
  /**
   * The two supports that it turns about.
   */
  size_t edge[2];
  /**
   * The support that it comes down on; SIZE_MAX where nothing stands beyond the edge.
   */
  size_t onto;
  /**
   * How far it comes down there, mm; NaN where it falls.
   */
  double drop_mm;
  /**
   * How far it rises off the support that it leaves by most, mm; NaN where it falls.
   */
  double rise_mm;
  /**
   * Distance in plan from the centre of mass to the edge, mm.
   */
  double margin_mm;
} truebed_rock;

/**
 * Fits a plane to `count` points. `xy_mm` holds x and y of each in turn, 2 * `count` values;
 * `z_mm` their heights; `weights` inverse variances up to a common factor, or NULL where all
 * count alike, as for all kinds but the two of least squares; `kind` is one of
 * TRUEBED_PLANE_. The plane goes to `*plane`, the deviation of each point (its height above the
 * plane or, for the kinds along the normal, its distance) to `deviations_mm`, which has room for
 * `count` values or is NULL.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for an unknown kind,
 * values that are not finite and weights that are not above zero or not taken;
 * TRUEBED_BAD_GEOMETRY for fewer than three points, all on one line, and for the kinds along the
 * normal a plane that is upright or as thin in two directions.
 */
int32_t truebed_fit_plane(const double *xy_mm,
                          const double *z_mm,
                          const double *weights,
                          size_t count,
                          int32_t kind,
                          struct truebed_plane *plane,
                          double *deviations_mm);

/**
 * Fits a plane to each of `tables` tables of `points` points, on all cores, each as
 * `truebed_fit_plane` does. `z_mm` holds the heights table by table, `xy_mm` the places of one
 * table if `shared` is 1, which then all have, or of every table if it is 0. The planes go to
 * `planes`, an array of `tables` whose first has its struct_size set, the deviations to
 * `deviations_mm`, which has room for `tables` * `points` values or is NULL.
 *
 * Errors: those of `truebed_fit_plane`, and TRUEBED_BAD_VALUE for a `shared` that is neither 0 nor
 * 1; the last error names the table, as in `tables[7].z[2]`.
 */
int32_t truebed_fit_planes(const double *xy_mm,
                           int32_t shared,
                           const double *z_mm,
                           size_t tables,
                           size_t points,
                           int32_t kind,
                           struct truebed_plane *planes,
                           double *deviations_mm);

/**
 * Fits planes as `truebed_fit_planes` does, on at most `threads` threads; 0 stands for one for each core.
 * The planes are the same on any number of threads. Where no thread can be started, the thread of this
 * call does the work.
 *
 * Errors: those of `truebed_fit_planes`.
 */
int32_t truebed_fit_planes_on(size_t threads,
                              const double *xy_mm,
                              int32_t shared,
                              const double *z_mm,
                              size_t tables,
                              size_t points,
                              int32_t kind,
                              struct truebed_plane *planes,
                              double *deviations_mm);

/**
 * Fits a plane by least squares of the vertical residuals with its uncertainty. `known`
 * is one of TRUEBED_KNOWN_ and says what `values` are, which is NULL for TRUEBED_KNOWN_ALIKE. The
 * rest is as for `truebed_fit_plane`; `*fit` becomes its uncertainty.
 *
 * Errors: those of `truebed_fit_plane`; TRUEBED_BAD_VALUE for an unknown `known` and a covariance
 * that is not symmetric or not positive definite.
 */
int32_t truebed_least_squares(const double *xy_mm,
                              const double *z_mm,
                              size_t count,
                              int32_t known,
                              const double *values,
                              struct truebed_plane *plane,
                              double *deviations_mm,
                              struct truebed_least_squares_fit *fit);

/**
 * Finds the two parallel planes closest together that hold all points, along the vertical or, if
 * `normal` is 1, along their normal. The rest is as for `truebed_fit_plane`; the flatness of the
 * plane, which lies half way between, is the width. `*zone` becomes what proves it.
 *
 * Errors: those of `truebed_fit_plane`, and TRUEBED_BAD_VALUE for a `normal` that is neither 0 nor
 * 1.
 */
int32_t truebed_minimum_zone(const double *xy_mm,
                             const double *z_mm,
                             size_t count,
                             int32_t normal,
                             struct truebed_plane *plane,
                             double *deviations_mm,
                             struct truebed_zone *zone);

/**
 * Finds how a rigid frame with a plane underside stands on `count` supports. `centre_mm` is the
 * plan position of its centre of mass, x and y, or NULL for the mean of the supports. `*plane`
 * becomes the plane of its underside and `*stance` how it stands. `floats_mm` gets how far the
 * frame floats above each support, 0 where it touches; `rocks` what happens when it is pushed over
 * each edge of the stance, anticlockwise: each has room for `count` elements or is NULL.
 *
 * Errors: those of `truebed_fit_plane`, and TRUEBED_BAD_GEOMETRY for a centre outside the supports.
 */
int32_t truebed_resting(const double *xy_mm,
                        const double *z_mm,
                        size_t count,
                        const double *centre_mm,
                        struct truebed_plane *plane,
                        struct truebed_stance *stance,
                        double *floats_mm,
                        struct truebed_rock *rocks);

/** @} */

/**
 * @defgroup truebed_floor Floors
 * the highest support, slopes, straightedges and classes of evenness.
 * @{
 */

/**
 * Floor class: DIN 18202 table 3, row 1, unfinished tops of floors.
 */
#define TRUEBED_FLOOR_CLASS_DIN_18202_ROW_1 1

/**
 * Floor class: row 2, unfinished, raised demands.
 */
#define TRUEBED_FLOOR_CLASS_DIN_18202_ROW_2 2

/**
 * Floor class: row 3, finished floors.
 */
#define TRUEBED_FLOOR_CLASS_DIN_18202_ROW_3 3

/**
 * Floor class: row 4, finished, raised demands.
 */
#define TRUEBED_FLOOR_CLASS_DIN_18202_ROW_4 4

/**
 * Floor class: BS 8204 SR1, 3 mm under a straightedge of 2 m.
 */
#define TRUEBED_FLOOR_CLASS_BS_8204_SR1 5

/**
 * Floor class: SR2, 5 mm.
 */
#define TRUEBED_FLOOR_CLASS_BS_8204_SR2 6

/**
 * Floor class: SR3, 10 mm.
 */
#define TRUEBED_FLOOR_CLASS_BS_8204_SR3 7

/**
 * Floor class: ACI 117 conventional, overall FF 20, FL 15.
 */
#define TRUEBED_FLOOR_CLASS_ACI_117_CONVENTIONAL 8

/**
 * Floor class: moderately flat, FF 25, FL 20.
 */
#define TRUEBED_FLOOR_CLASS_ACI_117_MODERATELY_FLAT 9

/**
 * Floor class: flat, FF 35, FL 25.
 */
#define TRUEBED_FLOOR_CLASS_ACI_117_FLAT 10

/**
 * Floor class: very flat, FF 45, FL 35.
 */
#define TRUEBED_FLOOR_CLASS_ACI_117_VERY_FLAT 11

/**
 * Floor class: superflat, FF 60, FL 40.
 */
#define TRUEBED_FLOOR_CLASS_ACI_117_SUPERFLAT 12

/**
 * Floor finding: the gap under a straightedge, mm.
 */
#define TRUEBED_FLOOR_FINDING_GAP 0

/**
 * Floor finding: FF of the whole floor.
 */
#define TRUEBED_FLOOR_FINDING_FF 1

/**
 * Floor finding: FL of the whole floor.
 */
#define TRUEBED_FLOOR_FINDING_FL 2

/**
 * Floor finding: FF of one line.
 */
#define TRUEBED_FLOOR_FINDING_LINE_FF 3

/**
 * Floor finding: FL of one line.
 */
#define TRUEBED_FLOOR_FINDING_LINE_FL 4

/**
 * Which support stands highest.
 */
typedef struct truebed_highest_support {
  /**
   * sizeof(truebed_highest_support), set by the caller.
   */
  size_t struct_size;
  /**
   * The first support whose height is the greatest, by index.
   */
  size_t highest;
  /**
   * How many supports have that height: more than one is a tie.
   */
  size_t tied;
  /**
   * The support that is most probably the highest, by index.
   */
  size_t most_probable;
  /**
   * How many supports it takes, most probable first, to hold the highest one with the confidence
   * asked for: 1 where the highest is known.
   */
  size_t candidates;
  /**
   * The largest numerical error of a probability.
   */
  double error;
} truebed_highest_support;

/**
 * The slope from a point to the next on its line.
 */
typedef struct truebed_local_slope {
  /**
   * The two points, by index; the second lies further along x (y, across).
   */
  size_t points[2];
  /**
   * Rise per length, dimensionless.
   */
  double slope;
} truebed_local_slope;

/**
 * The largest gap under a straightedge.
 */
typedef struct truebed_gap {
  /**
   * sizeof(truebed_gap), set by the caller.
   */
  size_t struct_size;
  /**
   * The gap under the edge, mm; NaN where the edge nowhere covers three points.
   */
  double gap_mm;
  /**
   * The point at which the gap is largest, by index; SIZE_MAX where there is none.
   */
  size_t at;
  /**
   * The two points that the edge rests on, by index; SIZE_MAX where there are none.
   */
  size_t rests_on[2];
  /**
   * Their distance along the line, mm; NaN where there are none.
   */
  double distance_mm;
} truebed_gap;

/**
 * One requirement of a floor class, and the measured value.
 */
typedef struct truebed_floor_finding {
  /**
   * What was measured: a TRUEBED_FLOOR_FINDING_ number.
   */
  int32_t what;
  /**
   * 1 if what was measured is within the limit as read, whatever its uncertainty; 0 if not; -1 where
   * the survey does not determine it.
   */
  int32_t met;
  /**
   * The measured value; NaN where the survey does not determine it.
   */
  double found;
  /**
   * The limit: the greatest gap, or the least F-number.
   */
  double limit;
  /**
   * The first point of the edge or of the line; SIZE_MAX for the whole floor.
   */
  size_t first;
  /**
   * The point below the edge; SIZE_MAX for an F-number.
   */
  size_t at;
  /**
   * The last point of the edge or of the line; SIZE_MAX for the whole floor.
   */
  size_t last;
} truebed_floor_finding;

/**
 * Whether a floor is as even as a class asks.
 */
typedef struct truebed_floor_verdict {
  /**
   * sizeof(truebed_floor_verdict), set by the caller.
   */
  size_t struct_size;
  /**
   * 1 if the heights as read, whatever their uncertainty, meet every requirement of the class that
   * the survey determines; else 0. The verdict, which counts the uncertainty, is `conformity`.
   */
  int32_t met;
  /**
   * The verdict: TRUEBED_MET, TRUEBED_NOT_MET or TRUEBED_CANNOT_TELL.
   */
  int32_t conformity;
  /**
   * The probability that all is met.
   */
  double probability;
  /**
   * Standard error of that number, which is simulated with draws that never change.
   */
  double probability_error;
} truebed_floor_verdict;

/**
 * Finds the highest of `count` heights. `known` says what `values` are:
 * TRUEBED_KNOWN_SIGMAS or TRUEBED_KNOWN_COVARIANCE, which may be singular. `confidence` lies
 * between 0 and 1. `probabilities`, with room for `count` values or NULL, gets the probability of
 * each to be the highest.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_SHAPE for no heights;
 * TRUEBED_BAD_VALUE for any other bad argument.
 */
int32_t truebed_highest(const double *heights_mm,
                        size_t count,
                        int32_t known,
                        const double *values,
                        double confidence,
                        struct truebed_highest_support *highest,
                        double *probabilities);

/**
 * The slope from each point to the next on its lengthwise and on its crosswise line. Points are on
 * one line whose y (x) lie within `line_width_mm` of the least. `along` and `across` have room for
 * `count` elements each; `*along_count` and `*across_count` become how many there are.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for values that are not finite and a negative
 * width.
 */
int32_t truebed_local_slopes(const double *xy_mm,
                             const double *z_mm,
                             size_t count,
                             double line_width_mm,
                             struct truebed_local_slope *along,
                             size_t *along_count,
                             struct truebed_local_slope *across,
                             size_t *across_count);

/**
 * The largest gap under a straightedge of `length_mm` laid anywhere on the lengthwise and crosswise
 * lines of a survey of `count` points; lines are as for `truebed_local_slopes`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for values that are not
 * finite, a length that is not above zero and a negative width.
 */
int32_t truebed_straightedge(const double *xy_mm,
                             const double *z_mm,
                             size_t count,
                             double length_mm,
                             double line_width_mm,
                             struct truebed_gap *gap);

/**
 * The same on one line, from one place in plan to another, in any direction: of the points that
 * lie within half of `line_width_mm` to either side of it. `start_mm` and `end_mm` hold x and y
 * each.
 *
 * Errors: those of `truebed_straightedge`, and TRUEBED_BAD_VALUE for two places that are one.
 */
int32_t truebed_straightedge_between(const double *xy_mm,
                                     const double *z_mm,
                                     size_t count,
                                     const double *start_mm,
                                     const double *end_mm,
                                     double length_mm,
                                     double line_width_mm,
                                     struct truebed_gap *gap);

/**
 * Holds a survey of a floor of `count` points against a class of evenness, line by line; lines are
 * as for `truebed_local_slopes`, and `floor_class` is a
 * TRUEBED_FLOOR_CLASS_ number. What lies between the points is not known.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL; TRUEBED_BAD_VALUE for values that are not
 * finite, a negative width and an unknown class; TRUEBED_BAD_GEOMETRY for a survey of which no line
 * has three points and, for ACI 117, points that are not 12 in or 300 mm apart.
 */
int32_t truebed_check_floor(const double *xy_mm,
                            const double *z_mm,
                            size_t count,
                            int32_t floor_class,
                            double line_width_mm,
                            struct truebed_floor_finding *buffer,
                            size_t capacity,
                            size_t *finding_count);

/**
 * Holds a survey of a floor of `count` points against a class of evenness as `truebed_check_floor`
 * does, and counts the uncertainty of the heights: normal errors with a covariance of
 * `count` * `count` values in mm², row by row. `rule` and `risk` are those of `truebed_assess`. Writes
 * the probability that the floor meets every requirement of the class, and the verdict, to `*verdict`.
 *
 * Errors: those of `truebed_check_floor` and TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for a covariance
 * with values that are not finite, not symmetric or not positive semidefinite, an unknown rule and a
 * risk out of range.
 */
int32_t truebed_assess_floor(const double *xy_mm,
                             const double *z_mm,
                             const double *covariance_mm2,
                             size_t count,
                             int32_t floor_class,
                             double line_width_mm,
                             int32_t rule,
                             double risk,
                             struct truebed_floor_verdict *verdict);

/**
 * Holds a floor against a class as `truebed_assess_floor` does, until `stop` says to stop: see
 * `truebed_plan_shims_until`. A call that is stopped has no answer.
 *
 * Errors: those of `truebed_assess_floor`, and TRUEBED_STOPPED.
 */
int32_t truebed_assess_floor_until(const double *xy_mm,
                                   const double *z_mm,
                                   const double *covariance_mm2,
                                   size_t count,
                                   int32_t floor_class,
                                   double line_width_mm,
                                   int32_t rule,
                                   double risk,
                                   int32_t (*stop)(void *context),
                                   void *context,
                                   struct truebed_floor_verdict *verdict);

/**
 * The F-numbers of ASTM E1155 of one or more lines of heights, each of points 12 in (or 300 mm)
 * apart: `heights_mm` holds them line by line, `lengths` how many heights each line has.
 * `*flatness` becomes FF and `*levelness` FL; NaN where the lines are too short.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for lengths that add up to more than memory can
 * hold.
 */
int32_t truebed_floor_numbers(const double *heights_mm,
                              const size_t *lengths,
                              size_t line_count,
                              double *flatness,
                              double *levelness);

/** @} */

/**
 * @defgroup truebed_bed Slabs
 * slates as elastic plates on supports that push, and the shims on which they lie level.
 * @{
 */

/**
 * Why there is no bed plan: there is one.
 */
#define TRUEBED_BED_PLANNED 0

/**
 * Why there is no bed plan: no plan brings the slab's surface within the limits.
 */
#define TRUEBED_BED_NOT_LEVEL 1

/**
 * Why there is no bed plan: some do, but on none of them does every stack carry.
 */
#define TRUEBED_BED_NOT_CARRIED 2

/**
 * One slate piece: a rectangle in plan, flat when nothing acts on it. Pockets and holes, a modulus
 * that differs with the grain, glue, creep, and how the frame bends as a whole are not modelled.
 */
typedef struct truebed_slab {
  /**
   * sizeof(truebed_slab), set by the caller.
   */
  size_t struct_size;
  /**
   * Where it begins and ends along the bed, mm.
   */
  double x_mm[2];
  /**
   * Where it begins and ends across, mm.
   */
  double y_mm[2];
  /**
   * Thickness, mm.
   */
  double thickness_mm;
  /**
   * Modulus of elasticity, GPa.
   */
  double e_gpa;
  /**
   * Poisson's ratio, from 0 to below 0.5.
   */
  double nu;
  /**
   * Density, kg/m3.
   */
  double density_kg_per_m3;
  /**
   * Bending strength, MPa; 0 where it is not known.
   */
  double strength_mpa;
  /**
   * What the strength is divided by before a stress is held against it; 0 stands for 1.
   */
  double strength_factor;
} truebed_slab;

/**
 * A support under a slab. It pushes; where a screw holds the slab to it, it pulls too, up to a force.
 */
typedef struct truebed_slab_support {
  /**
   * Position along the bed, mm.
   */
  double x_mm;
  /**
   * Position across, mm.
   */
  double y_mm;
  /**
   * What a screw holds, N; 0 without a screw.
   */
  double pull_n;
  /**
   * How stiff the support is, N/mm; 0 where it is rigid.
   */
  double stiffness_n_per_mm;
} truebed_slab_support;

/**
 * A load on a slab, spread evenly over a rectangle, or at one place where the rectangle is that.
 */
typedef struct truebed_load {
  /**
   * Where it begins and ends along the bed, mm; the same twice for a load at one place.
   */
  double x_mm[2];
  /**
   * Where it begins and ends across, mm.
   */
  double y_mm[2];
  /**
   * How much in all, N; downwards is positive.
   */
  double newtons;
} truebed_load;

/**
 * A bearing as a whole. Of a slab that tips over all numbers are NaN.
 */
typedef struct truebed_bearing_summary {
  /**
   * sizeof(truebed_bearing_summary), set by the caller.
   */
  size_t struct_size;
  /**
   * 1 if the slab tips over, else 0.
   */
  int32_t tips;
  /**
   * Of a slab that tips, the two supports over whose line it falls; else SIZE_MAX.
   */
  size_t tips_about[2];
  /**
   * The moment about the line through them that nothing holds, N mm; NaN where it does not tip.
   */
  double tips_moment_n_mm;
  /**
   * The number of supports.
   */
  size_t support_count;
  /**
   * How well its heights are known for the mesh, mm: how far those of a mesh one half as fine are
   * apart.
   */
  double accuracy_mm;
  /**
   * How far its surface hangs below the least-squares plane of its heights at the supports, mm.
   */
  double sag_mm;
  /**
   * The largest principal bending stress, MPa.
   */
  double stress_mpa;
  /**
   * Where that is, x and y, mm.
   */
  double stress_at_mm[2];
  /**
   * That stress over the strength divided by its factor; NaN where no strength is stated.
   */
  double stress_ratio;
} truebed_bearing_summary;

/**
 * All that `truebed_plan_bed` is asked.
 */
typedef struct truebed_bed_problem {
  /**
   * sizeof(truebed_bed_problem), set by the caller.
   */
  size_t struct_size;
  /**
   * The slab.
   */
  const struct truebed_slab *slab;
  /**
   * What it lies on.
   */
  const struct truebed_slab_support *supports;
  /**
   * The number of supports.
   */
  size_t support_count;
  /**
   * Height of the frame at each support, mm. Under a slab that lies already it is the height read on
   * top less the thickness and the gap below.
   */
  const double *frame_mm;
  /**
   * The shims on hand, shared by all supports; none of them adjustable.
   */
  const struct truebed_shim *stock;
  /**
   * The number of kinds of shim.
   */
  size_t stock_count;
  /**
   * What counts as level, for the slab's surface at the supports and at the further places.
   */
  const struct truebed_limits *limits;
  /**
   * Further places where the limits hold, x and y of each in turn, mm; NULL for none.
   */
  const double *at_xy_mm;
  /**
   * Their number.
   */
  size_t at_count;
  /**
   * Loads beside the weight; NULL for none.
   */
  const struct truebed_load *loads;
  /**
   * Their number.
   */
  size_t load_count;
  /**
   * 1: the slab's own weight does not act; 0: it does.
   */
  int32_t weightless;
  /**
   * Supports, by index, that need not carry as long as they are bare: at most 4. NULL for none.
   */
  const size_t *idle;
  /**
   * Their number.
   */
  size_t idle_count;
  /**
   * What presses on every stack, and on every bare support that is not idle, N. At 0 it is
   * more than nothing.
   */
  double least_force_n;
  /**
   * How to choose; NULL for the defaults. The order is TRUEBED_ORDER_FEWEST_PIECES.
   */
  const struct truebed_plan_options *options;
} truebed_bed_problem;

/**
 * A bed plan as a whole.
 */
typedef struct truebed_bed_plan_summary {
  /**
   * sizeof(truebed_bed_plan_summary), set by the caller.
   */
  size_t struct_size;
  /**
   * How the search ended, a TRUEBED_PLAN_ number.
   */
  int32_t status;
  /**
   * Why there is no plan, a TRUEBED_BED_ number.
   */
  int32_t why;
  /**
   * 1 if the slab's surface meets every limit, else 0.
   */
  int32_t meets_limits;
  /**
   * 1 if every stack, and every bare support that is not idle, carries what it should; else 0.
   */
  int32_t carried;
  /**
   * Pieces in all.
   */
  size_t pieces;
  /**
   * The fewest pieces that any plan has, as far as that is proven; NaN where there is no plan.
   */
  double bound;
  /**
   * Half the difference between the highest and the lowest of the surface at the supports and the
   * further places, mm.
   */
  double worst_mm;
  /**
   * Search nodes spent.
   */
  uint64_t nodes;
  /**
   * The number of supports.
   */
  size_t support_count;
  /**
   * The number of kinds of shim in the stock.
   */
  size_t kind_count;
} truebed_bed_plan_summary;

/**
 * Lays a slab on supports under loads. `weightless` is 1 where the slab's own weight does not act,
 * else 0. `*out` becomes the laid slab; free it with `truebed_laid_slab_free`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for sizes, a modulus, a
 * density or a strength that is not above 0, a Poisson's ratio outside 0 to 0.5, supports or loads
 * outside the slab, negative holds and stiffnesses, values that are not finite, and nothing that
 * presses the slab down; TRUEBED_DUPLICATE for two supports at one place; TRUEBED_BAD_GEOMETRY for
 * fewer than three supports or all on one line; TRUEBED_BAD_SHAPE for more than 500.
 */
int32_t truebed_laid_slab_new(const struct truebed_slab *slab,
                              const struct truebed_slab_support *supports,
                              size_t support_count,
                              const struct truebed_load *loads,
                              size_t load_count,
                              int32_t weightless,
                              struct truebed_laid_slab **out);

/**
 * Frees a laid slab. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_laid_slab_free(struct truebed_laid_slab *laid);

/**
 * Finds how a slab bears on supports with tops at these heights, `count` of them, one for each
 * support. `*out` becomes the bearing; free it with `truebed_bearing_free`. A slab that tips over is
 * an answer and not an error.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_SHAPE for another number of heights than supports;
 * TRUEBED_BAD_VALUE for heights that are not finite or out of range.
 */
int32_t truebed_laid_slab_bear(const struct truebed_laid_slab *laid,
                               const double *tops_mm,
                               size_t count,
                               struct truebed_bearing **out);

/**
 * Finds how a slab bears on many sets of tops, one set behind the other, `count` heights in all.
 * `forces_n` and `gaps_mm` are filled with as many numbers each, as truebed_bearing_forces_n and
 * truebed_bearing_gaps_mm give them; NaN where the slab tips.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_SHAPE for heights that do not fill whole sets;
 * TRUEBED_BAD_VALUE for heights that are not finite or out of range.
 */
int32_t truebed_laid_slab_bear_many(const struct truebed_laid_slab *laid,
                                    const double *tops_mm,
                                    size_t count,
                                    double *forces_n,
                                    double *gaps_mm);

/**
 * Frees a bearing. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_bearing_free(struct truebed_bearing *bearing);

/**
 * Writes the summary of a bearing to `*summary`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
 */
int32_t truebed_bearing_get_summary(const struct truebed_bearing *bearing,
                                    struct truebed_bearing_summary *summary);

/**
 * What each support does to the slab, N: pushes are positive, the pull of a screw negative.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_bearing_forces_n(const struct truebed_bearing *bearing,
                                 double *buffer,
                                 size_t capacity,
                                 size_t *count);

/**
 * How far the slab clears each support, mm: 0 where it touches.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_bearing_gaps_mm(const struct truebed_bearing *bearing,
                                double *buffer,
                                size_t capacity,
                                size_t *count);

/**
 * Whether each support carries, 1 or 0: a shim that does not is loose.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_bearing_carries(const struct truebed_bearing *bearing,
                                int32_t *buffer,
                                size_t capacity,
                                size_t *count);

/**
 * Heights of the slab's underside at `count` places, with x and y of each in turn in `xy_mm`; NaN
 * where it tips. `heights_mm` has room for `count` numbers.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for places that are not on the slab.
 */
int32_t truebed_bearing_at(const struct truebed_bearing *bearing,
                           const double *xy_mm,
                           size_t count,
                           double *heights_mm);

/**
 * Finds the fewest pieces on which a slab lies level, with every stack carrying. `*out` becomes the
 * plan; free it with `truebed_bed_plan_free`. That the stock cannot do it, or that the budget ran
 * out, is no error but the status in the plan's summary.
 *
 * Errors: those of `truebed_laid_slab_new`; TRUEBED_BAD_VALUE for heights, stock, limits, options and
 * a least force out of range, for adjustable pieces, limits that may slope, another order, a risk,
 * and places outside the slab; TRUEBED_UNKNOWN and TRUEBED_DUPLICATE for idle supports that are not
 * there or named twice; TRUEBED_BAD_SHAPE for too many of them, and for no stock.
 */
int32_t truebed_plan_bed(const struct truebed_bed_problem *problem,
                         struct truebed_bed_plan **out);

/**
 * Finds a plan as `truebed_plan_bed` does, until `stop` says to stop, as in
 * `truebed_plan_shims_until`.
 *
 * Errors: those of `truebed_plan_bed`.
 */
int32_t truebed_plan_bed_until(const struct truebed_bed_problem *problem,
                               int32_t (*stop)(void *context),
                               void *context,
                               struct truebed_bed_plan **out);

/**
 * Frees a bed plan. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_bed_plan_free(struct truebed_bed_plan *plan);

/**
 * Writes the summary of a bed plan to `*summary`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
 */
int32_t truebed_bed_plan_get_summary(const struct truebed_bed_plan *plan,
                                     struct truebed_bed_plan_summary *summary);

/**
 * The stack under one support: indices into the stock, one a piece, thickest first.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_UNKNOWN for a support that is not
 * there.
 */
int32_t truebed_bed_plan_stack(const struct truebed_bed_plan *plan,
                               size_t support,
                               size_t *buffer,
                               size_t capacity,
                               size_t *count);

/**
 * Height of the top of each stack, mm, in the order of the supports.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_bed_plan_tops_mm(const struct truebed_bed_plan *plan,
                                 double *buffer,
                                 size_t capacity,
                                 size_t *count);

/**
 * How the slab bears on the stacks of a plan: `*bearing` becomes it. It belongs to the plan; do not
 * free it.
 *
 * Errors: TRUEBED_NULL_POINTER.
 */
int32_t truebed_bed_plan_bearing(const struct truebed_bed_plan *plan,
                                 const struct truebed_bearing **bearing);

/** @} */

/**
 * @defgroup truebed_bed_surface Bed surfaces
 * a smooth surface through points, and how a ball rolls on it.
 * @{
 */

/**
 * The roll of one ball.
 */
typedef struct truebed_roll {
  /**
   * Where it started, x and y, mm.
   */
  double start_mm[2];
  /**
   * Where it came to rest or left the bed, x and y, mm.
   */
  double end_mm[2];
  /**
   * How far to the left of its first direction the ball ended, mm; negative to the right.
   * The left is that of x seen along y: counter-clockwise.
   */
  double drift_mm;
  /**
   * How far the ball got along its first direction, mm.
   */
  double along_mm;
  /**
   * The time until it ended, s.
   */
  double time_s;
  /**
   * The speed at which it left the bed, m/s; 0 where it came to rest.
   */
  double speed_m_per_s;
} truebed_roll;

/**
 * Four balls that would just come to rest at the far end of a level bed: what this bed does to them.
 */
typedef struct truebed_play {
  /**
   * sizeof(truebed_play), set by the caller.
   */
  size_t struct_size;
  /**
   * Along the middle of the bed, towards greater x and towards less.
   */
  struct truebed_roll along[2];
  /**
   * Across the middle of the bed, towards greater y and towards less.
   */
  struct truebed_roll across[2];
  /**
   * The steepest slope at a point of the bed, as a ratio.
   */
  double steepest;
  /**
   * 1 if a ball at rest stays where it is, at every point; else 0.
   */
  int32_t stays;
} truebed_play;

/**
 * Lays the surface that bends the least (a thin-plate spline) through `count` points, at most 500,
 * with x and y of each in turn in `xy_mm` and the heights in `z_mm`. Points at one place, as the two
 * sides of a joint can be, count with their mean height. `*out` becomes the surface; free it with
 * `truebed_bed_surface_free`.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for values that are not finite; TRUEBED_BAD_SHAPE
 * for more than 500 points; TRUEBED_BAD_GEOMETRY for fewer than three places, all on one line, or
 * too close together.
 */
int32_t truebed_bed_surface_new(const double *xy_mm,
                                const double *z_mm,
                                size_t count,
                                struct truebed_bed_surface **out);

/**
 * Frees a surface. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_bed_surface_free(struct truebed_bed_surface *surface);

/**
 * The height of a surface at a place in plan, mm, and its slopes along x and y there, as ratios.
 * Outside the points it goes on as it bends there; where x or y is not finite, nothing is (NaN).
 *
 * Errors: TRUEBED_NULL_POINTER.
 */
int32_t truebed_bed_surface_at(const struct truebed_bed_surface *surface,
                               double x_mm,
                               double y_mm,
                               double *height_mm,
                               double *slope_x,
                               double *slope_y);

/**
 * Rolls a ball from a place in plan at a velocity against a rolling resistance, until it comes to rest
 * or leaves the rectangle of the points, or for two minutes or 250 000 steps of at most 2 ms. `start_mm` holds x and y; `velocity`
 * those of the velocity, m/s. The resistance is the deceleration of the ball on a level bed over g,
 * about 0.01 on cloth. Writes how it rolled to `*roll`.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for a place outside the rectangle of the points, a
 * speed that is not above 0 and at most 100 m/s, and a resistance below 0 or above 1.
 */
int32_t truebed_bed_surface_roll(const struct truebed_bed_surface *surface,
                                 const double *start_mm,
                                 const double *velocity_m_per_s,
                                 double resistance,
                                 struct truebed_roll *roll);

/**
 * What the bed does to four slow balls: each is sent along or across the middle of the rectangle of
 * the points at the speed (`truebed_dying_speed`) at which it would just come to rest at the far end
 * of a level bed. Writes what becomes of them to `*balls`, whose type `truebed_play` has the older name
 * of the call.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for a resistance that is not
 * above 0 and at most 1.
 */
int32_t truebed_bed_surface_roll_balls(const struct truebed_bed_surface *surface,
                                       double resistance,
                                       struct truebed_play *balls);

/**
 * The older name of `truebed_bed_surface_roll_balls`.
 *
 * Errors: those of `truebed_bed_surface_roll_balls`.
 */
int32_t truebed_bed_surface_play(const struct truebed_bed_surface *surface,
                                 double resistance,
                                 struct truebed_play *play);

/**
 * The acceleration, m/s², of a solid ball that rolls without resistance down a slope (a ratio, 0.001
 * for 1 mm/m): (5/7) g sin θ. The call cannot fail.
 */
double truebed_rolling_acceleration(double slope);

/**
 * How far, mm, a ball that keeps rolling at a speed drifts down a cross slope (a ratio) over a
 * length: (5/14) g sin θ (length/speed)². The call cannot fail; at no speed the answer is not finite.
 */
double truebed_drift_mm(double cross_slope,
                        double length_mm,
                        double speed_m_per_s);

/**
 * The speed, m/s, at which a ball just comes to rest after rolling a length on a level bed:
 * √(2 resistance g length). The call cannot fail; of less than nothing it is NaN.
 */
double truebed_dying_speed(double length_mm, double resistance);

/** @} */

/**
 * @defgroup truebed_site Site
 * whether the table fits the room, whether it gets there, whether its frame is square.
 * @{
 */

/**
 * Turn of a table: along or across any wall.
 */
#define TRUEBED_TURN_WALLS 0

/**
 * Turn of a table: any direction.
 */
#define TRUEBED_TURN_FREE 1

/**
 * Turn of a table: its length in the direction angle_deg.
 */
#define TRUEBED_TURN_FIXED 2

/**
 * Turn of a table: judged as it stands, at x_mm, y_mm and angle_deg.
 */
#define TRUEBED_TURN_AT 3

/**
 * Tape of a frame: a length, from corner 0 to 1 (side 0) or from 3 to 2 (side 1).
 */
#define TRUEBED_TAPE_LENGTH 0

/**
 * Tape of a frame: a width, from corner 0 to 3 (side 0) or from 1 to 2 (side 1).
 */
#define TRUEBED_TAPE_WIDTH 1

/**
 * Tape of a frame: a diagonal, from corner 0 to 2 (side 0) or from 1 to 3 (side 1).
 */
#define TRUEBED_TAPE_DIAGONAL 2

/**
 * Passage: a door or a straight corridor, with width_mm and height_mm.
 */
#define TRUEBED_PASSAGE_DOOR 0

/**
 * Passage: where a corridor of width_mm turns by angle_deg into one of other_mm; with height_mm.
 */
#define TRUEBED_PASSAGE_CORNER 1

/**
 * Passage: a landing of width_mm by other_mm, on which the piece is turned on the spot; with height_mm.
 */
#define TRUEBED_PASSAGE_LANDING 2

/**
 * Passage: a flight of stairs of width_mm, with height_mm of head room straight up from the edges of
 * the steps, angle_deg steep (0 for 42, common practice).
 */
#define TRUEBED_PASSAGE_STAIRS 3

/**
 * Carried on edge: the middle edge stands up.
 */
#define TRUEBED_CARRY_UPRIGHT 0

/**
 * Carried flat: the thinnest edge stands up.
 */
#define TRUEBED_CARRY_FLAT 1

/**
 * Least to spare: room to the sides.
 */
#define TRUEBED_SPARE_WIDTH 0

/**
 * Least to spare: room above.
 */
#define TRUEBED_SPARE_HEIGHT 1

/**
 * Least to spare: length that would still go round.
 */
#define TRUEBED_SPARE_LENGTH 2

/**
 * Something that stands in a room or swings into it.
 */
typedef struct truebed_obstacle {
  /**
   * What a person calls it, in UTF-8; NULL for "obstacle" and its number from 1.
   */
  const char *name;
  /**
   * x and y of each corner in turn, mm, in order around it.
   */
  const double *corners_mm;
  /**
   * How many corners it has.
   */
  size_t count;
} truebed_obstacle;

/**
 * What is asked of the position of a table. All zero asks for 60 in about the playing surface, along
 * or across any wall.
 */
typedef struct truebed_place_options {
  /**
   * sizeof(truebed_place_options), set by the caller.
   */
  size_t struct_size;
  /**
   * Length and width of the bare frame, mm; both 0 where only the playing surface counts.
   */
  double frame_mm[2];
  /**
   * From the playing surface to anything, mm; 0 for 60 in (common practice).
   */
  double clear_mm;
  /**
   * From the bare frame to anything, mm; 0 for 62 in (common practice).
   */
  double frame_clear_mm;
  /**
   * What the stroke needs beyond the length of the cue, mm; 0 for 3 in (common practice).
   */
  double stroke_mm;
  /**
   * What stands in the room.
   */
  const struct truebed_obstacle *obstacles;
  /**
   * How many things that is.
   */
  size_t obstacle_count;
  /**
   * How the table may be turned: a TRUEBED_TURN_ number.
   */
  int32_t turn;
  /**
   * Direction of the table's length, degrees anticlockwise from x; for TRUEBED_TURN_FIXED and _AT.
   */
  double angle_deg;
  /**
   * The middle of the table, mm; for TRUEBED_TURN_AT.
   */
  double x_mm;
  /**
   * The middle of the table, mm; for TRUEBED_TURN_AT.
   */
  double y_mm;
} truebed_place_options;

/**
 * One side of a table and what is before it.
 */
typedef struct truebed_side {
  /**
   * From the side straight outwards to the first thing that faces any of it, mm.
   */
  double clearance_mm;
  /**
   * Index of that thing: walls first, then obstacles.
   */
  size_t of;
} truebed_side;

/**
 * Whether a table fits, and where it has most about it.
 */
typedef struct truebed_place {
  /**
   * sizeof(truebed_place), set by the caller.
   */
  size_t struct_size;
  /**
   * 1 if everything is at least as far away as is asked for, else 0.
   */
  int32_t fits;
  /**
   * The middle of the table, mm.
   */
  double x_mm;
  /**
   * The middle of the table, mm.
   */
  double y_mm;
  /**
   * The direction of its length, degrees anticlockwise from x.
   */
  double angle_deg;
  /**
   * The least distance from the playing surface to anything, mm; 0 where they overlap.
   */
  double least_mm;
  /**
   * The least distance from the bare frame to anything, mm; NaN without one.
   */
  double frame_least_mm;
  /**
   * What is nearest to the playing surface: walls first, then obstacles.
   */
  size_t tightest;
  /**
   * Straight out from each side: right, ahead, left, behind.
   */
  struct truebed_side sides[4];
  /**
   * The share of the edge that has what is asked for, 0 to 1.
   */
  double free_share;
  /**
   * The least of what is there beyond what is asked for, of surface and frame, mm.
   */
  double slack_mm;
  /**
   * No position that is allowed has a greater slack_mm than this, mm; NaN for a position that is
   * judged as it stands.
   */
  double bound_mm;
  /**
   * x and y of the corners of the playing surface in turn, mm, anticlockwise.
   */
  double outline_mm[8];
} truebed_place;

/**
 * A part of a table's edge with less before it than is asked for.
 */
typedef struct truebed_short {
  /**
   * The side: 0 right, 1 ahead, 2 left, 3 behind, seen in the direction of the table's length.
   */
  size_t side;
  /**
   * Where the part begins, mm from the first corner of the side, going anticlockwise.
   */
  double from_mm;
  /**
   * Where it ends, mm.
   */
  double to_mm;
  /**
   * The least distance from the part to a thing on its side, mm.
   */
  double least_mm;
  /**
   * What is missing there, mm.
   */
  double by_mm;
  /**
   * Index of the thing that is nearest there: walls first, then obstacles.
   */
  size_t of;
  /**
   * A cue no longer than this has its full stroke over the whole part, mm; 0 or less for none.
   */
  double cue_mm;
} truebed_short;

/**
 * One tape reading of a frame with corners 0 to 3 in turn.
 */
typedef struct truebed_tape {
  /**
   * What was read: a TRUEBED_TAPE_ number.
   */
  int32_t kind;
  /**
   * Which of the two, 0 or 1.
   */
  int32_t side;
  /**
   * What was read, mm.
   */
  double mm;
} truebed_tape;

/**
 * How square a frame is. Uncertainties and probabilities are NaN where that of the tape is not known.
 */
typedef struct truebed_square {
  /**
   * sizeof(truebed_square), set by the caller.
   */
  size_t struct_size;
  /**
   * x and y of each corner as adjusted, mm: 0 at the origin, 1 on the x axis.
   */
  double corners_mm[8];
  /**
   * First less second of the lengths, the widths and the diagonals, mm.
   */
  double differences_mm[3];
  /**
   * Standard uncertainty of each, mm.
   */
  double differences_sigma_mm[3];
  /**
   * How far each corner is out of square, mm: from the end of the width at the corner to where it
   * would be in square; above 0 where the corner is wider than a right angle.
   */
  double off_mm[4];
  /**
   * Standard uncertainty of each, mm.
   */
  double off_sigma_mm[4];
  /**
   * The angle at each corner less 90 degrees.
   */
  double off_deg[4];
  /**
   * Standard uncertainty of each, degrees.
   */
  double off_sigma_deg[4];
  /**
   * The corner to push along the length, towards the other end of its length, while the first
   * length stays where it is: 2 or 3; -1 where the diagonals agree.
   */
  int32_t corner;
  /**
   * The verdict at a risk of 5 %, a TRUEBED_MET or other verdict number: whether lengths, widths and
   * diagonals differ by no more than within_mm.
   */
  int32_t conformity;
  /**
   * How far to push, mm, until the diagonals agree; NaN where no push makes them agree.
   */
  double rack_mm;
  /**
   * Standard uncertainty of that, mm.
   */
  double rack_sigma_mm;
  /**
   * The probability that the push goes the right way.
   */
  double rack_probability;
  /**
   * How far lengths, widths and diagonals may differ, mm.
   */
  double within_mm;
  /**
   * The probability that none of them differ by more.
   */
  double probability;
  /**
   * How many readings there are beyond the five that a quadrilateral needs.
   */
  size_t dof;
  /**
   * How many readings are suspect; several are equally so, and only another reading tells which.
   */
  size_t suspect_count;
} truebed_square;

/**
 * A thing that is carried, as a box.
 */
typedef struct truebed_piece {
  /**
   * What a person calls it, in UTF-8; NULL for "piece" and its number from 1.
   */
  const char *name;
  /**
   * Its three edges in any order, mm.
   */
  double size_mm[3];
} truebed_piece;

/**
 * What a piece is carried through. What a kind does not name is not read.
 */
typedef struct truebed_passage {
  /**
   * What it is: a TRUEBED_PASSAGE_ number.
   */
  int32_t kind;
  /**
   * What a person calls it, in UTF-8; NULL for "passage" and its number from 1.
   */
  const char *name;
  /**
   * Clear width, mm.
   */
  double width_mm;
  /**
   * Clear width behind a corner, or depth of a landing, mm.
   */
  double other_mm;
  /**
   * Clear height, or head room, mm.
   */
  double height_mm;
  /**
   * By how much one turns at a corner, or how steep stairs are, degrees.
   */
  double angle_deg;
} truebed_passage;

/**
 * Whether a piece passes somewhere, carried in the way that leaves most.
 */
typedef struct truebed_carried {
  /**
   * Index of the piece.
   */
  size_t piece;
  /**
   * Index of the passage.
   */
  size_t passage;
  /**
   * 1 if it passes, else 0.
   */
  int32_t passes;
  /**
   * How it is carried: a TRUEBED_CARRY_ number.
   */
  int32_t carry;
  /**
   * Of what there is least to spare: a TRUEBED_SPARE_ number.
   */
  int32_t spare;
  /**
   * What is left of that, mm; what is missing where below 0.
   */
  double margin_mm;
} truebed_carried;

/**
 * Finds where a table with a playing surface of this length and width stands best in a room of
 * `count` corners, x and y of each in turn in `room_mm`, in order: where the least clearance is
 * largest. `options` may be NULL for what all zero asks. `*place` becomes the position,
 * `clearances_mm` the distance from the playing surface to each wall (from each corner to the next)
 * and then to each obstacle; it has room for as many values or is NULL. `shorts` takes the parts of
 * the edge with less before them than is asked for, at most `capacity`; `*short_count` becomes their
 * number. With a NULL `shorts` and a `capacity` of 0 they are only counted.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_NOT_UTF8, TRUEBED_BUFFER_TOO_SMALL;
 * TRUEBED_BAD_VALUE for coordinates that are no places, lengths that are not above zero, another
 * turn; TRUEBED_BAD_SHAPE for polygons of fewer than 3 or more than 500 corners, more than 200
 * obstacles; TRUEBED_BAD_GEOMETRY for sides that cross, an obstacle outside the room, a room smaller
 * than the table, a position outside the room.
 */
int32_t truebed_find_place(const double *room_mm,
                           size_t count,
                           double length_mm,
                           double width_mm,
                           const struct truebed_place_options *options,
                           struct truebed_place *place,
                           double *clearances_mm,
                           struct truebed_short *shorts,
                           size_t capacity,
                           size_t *short_count);

/**
 * The corners of what a door leaf sweeps, for a `truebed_obstacle`: hinged at `hinge_mm` (x and y), as
 * wide as `leaf_mm`, from one direction anticlockwise to another, degrees from x. The arc is taken a hair
 * too wide, never too narrow. The buffer takes x and y of each corner: `*count` becomes how many numbers
 * that is, with a NULL buffer and a `capacity` of 0 too.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL; TRUEBED_BAD_VALUE for a hinge that is no place,
 * a leaf that is not from 1 mm to 1 km, a swing that is not above 0 and at most 359 degrees.
 */
int32_t truebed_door_swing(const double *hinge_mm,
                           double leaf_mm,
                           double from_deg,
                           double to_deg,
                           double *corners_mm,
                           size_t capacity,
                           size_t *count);

/**
 * Draws the plan of a room with the table where `truebed_find_place` puts it, in `units`, a
 * TRUEBED_UNITS_ number: clearances on every side, what is short and where. `title` may be NULL. `*out`
 * becomes an SVG; free it with `truebed_text_free`.
 *
 * Errors: those of `truebed_find_place`, and TRUEBED_BAD_VALUE for other units.
 */
int32_t truebed_room_picture(const double *room_mm,
                             size_t count,
                             double length_mm,
                             double width_mm,
                             const struct truebed_place_options *options,
                             const char *title,
                             int32_t units,
                             struct truebed_text **out);

/**
 * Draws what `truebed_room_picture` draws for the screen of a phone: 380 pixels wide, set anew and not
 * shrunk. Free it with `truebed_text_free`.
 *
 * Errors: those of `truebed_room_picture`.
 */
int32_t truebed_room_picture_narrow(const double *room_mm,
                                    size_t count,
                                    double length_mm,
                                    double width_mm,
                                    const struct truebed_place_options *options,
                                    const char *title,
                                    int32_t units,
                                    struct truebed_text **out);

/**
 * Adjusts `count` tape readings of a frame, or of slates that butt together, by their outer corners.
 * `sigma_mm` is the standard uncertainty of one reading, 0 where it is not known; `within_mm` how far
 * lengths, widths and diagonals may differ, 0 for 1/8 in (common practice). `*square` becomes how
 * square it is. `residuals_mm` gets adjusted less read for each reading, `suspects` 1 for each that the
 * others speak against most and 0 for the rest: each has room for `count` values or is NULL.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for another kind or side,
 * readings, an uncertainty or a limit out of range; TRUEBED_BAD_SHAPE for more than 1000 readings of
 * one tape; TRUEBED_BAD_GEOMETRY for fewer than five of the six tapes, or readings that belong to no
 * quadrilateral.
 */
int32_t truebed_check_square(const struct truebed_tape *tapes,
                             size_t count,
                             double sigma_mm,
                             double within_mm,
                             struct truebed_square *square_out,
                             double *residuals_mm,
                             int32_t *suspects);

/**
 * Finds for each piece and passage whether it passes, carried upright or flat, and with what margin.
 * `*passes` becomes 1 if every piece passes everywhere, else 0. `carried` gets each piece at each
 * passage, piece by piece: `piece_count` * `passage_count` elements; `tightest` the index of the
 * tightest passage of each piece. Either may be NULL.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_NOT_UTF8; TRUEBED_BAD_SHAPE for no pieces or passages or more
 * than 100; TRUEBED_BAD_VALUE for another kind, sizes that are not above zero, names that cannot be
 * written, angles out of range.
 */
int32_t truebed_way_in(const struct truebed_piece *pieces,
                       size_t piece_count,
                       const struct truebed_passage *passages,
                       size_t passage_count,
                       int32_t *passes,
                       struct truebed_carried *carried,
                       size_t *tightest);

/** @} */

/**
 * @defgroup truebed_estimate Before the visit
 * floors that nobody has measured, what jobs take on them, and what must be in the van.
 * @{
 */

/**
 * Figure of an estimate: pieces of each job.
 */
#define TRUEBED_FIGURE_PIECES 0

/**
 * Figure: supports lifted in each job.
 */
#define TRUEBED_FIGURE_LIFTS 1

/**
 * Figure: the thickest stack of each job, mm.
 */
#define TRUEBED_FIGURE_THICKEST_MM 2

/**
 * Figure: the price of each job, pieces included.
 */
#define TRUEBED_FIGURE_COST 3

/**
 * Figure: the minutes of each job.
 */
#define TRUEBED_FIGURE_MINUTES 4

/**
 * Reason why a job is not served: more pieces of the same kinds would do.
 */
#define TRUEBED_REASON_COUNTS 0

/**
 * Reason: stacks may not be as thick, or have as many pieces, as the floor asks.
 */
#define TRUEBED_REASON_STACKS 1

/**
 * Reason: no sums of these thicknesses keep the limits.
 */
#define TRUEBED_REASON_KINDS 2

/**
 * Reason: the search ended before it was known whether the stock does.
 */
#define TRUEBED_REASON_UNSETTLED 3

/**
 * Reason: points could be level, but no plan has every slate lie on all its stacks.
 */
#define TRUEBED_REASON_LOOSE 4

/**
 * Survey pattern: each round reads every point once from one set-up.
 */
#define TRUEBED_PATTERN_HEIGHTS 0

/**
 * Survey pattern: each round reads the rise from each point to the next, and from the last to the first.
 */
#define TRUEBED_PATTERN_LOOP 1

/**
 * Prices, or minutes, for each thing that a job needs, each from 0 to 1e12.
 */
typedef struct truebed_rates {
  /**
   * sizeof(truebed_rates), set by the caller.
   */
  size_t struct_size;
  /**
   * For the job as a whole.
   */
  double job;
  /**
   * For each reading: every support is read once in each pass.
   */
  double reading;
  /**
   * For each support that is lifted.
   */
  double lift;
  /**
   * For each piece that is put in, taken out or set anew. The pieces themselves cost the price of
   * their kind.
   */
  double piece;
  /**
   * For each slate that is laid.
   */
  double slate;
  /**
   * For each joint that is brought flush.
   */
  double joint;
  /**
   * For each pass after the first.
   */
  double repeat;
} truebed_rates;

/**
 * How to estimate. All zero draws 10 000 jobs without prices, minutes and second passes.
 */
typedef struct truebed_estimate_options {
  /**
   * sizeof(truebed_estimate_options), set by the caller.
   */
  size_t struct_size;
  /**
   * The most jobs to draw; 0 for 10 000.
   */
  size_t jobs;
  /**
   * Which jobs are drawn: the same seed gives the same jobs.
   */
  uint64_t seed;
  /**
   * The standard error of the share served at which no more jobs are drawn, between 0 and 1; 0 draws
   * all.
   */
  double standard_error;
  /**
   * The confidence of the interval of the share; 0 for 0.95.
   */
  double confidence;
  /**
   * 1 to count second passes, else 0.
   */
  int32_t again;
  /**
   * The standard deviation of how far each support settles, mm.
   */
  double settlement_sigma_mm;
  /**
   * The standard uncertainty of each reading of the tops, mm.
   */
  double reading_sigma_mm;
  /**
   * What each thing costs; NULL for no prices.
   */
  const struct truebed_rates *prices;
  /**
   * How many minutes each thing takes; NULL for no minutes.
   */
  const struct truebed_rates *minutes;
  /**
   * How many slates each job lays.
   */
  size_t slates;
  /**
   * The most threads; 0 for one for each core. The answer is the same on any number.
   */
  size_t threads;
  /**
   * The points of the slates of each job with their limits, joints and options, where they are to be
   * planned too, from what the legs leave. Their heights and stock do not matter. All figures are then of
   * legs and slates together, but for the lifts of single supports and second passes, which are of the
   * legs. NULL for the legs alone.
   */
  const struct truebed_problem *on_frame;
  /**
   * How the heights of the bare frame under the slates may differ once its legs are level. NULL where no
   * slates are planned.
   */
  const struct truebed_floor_model *frame;
  /**
   * The slates that are plates, which must lie on all their stacks: each support at the place of a point.
   * The others are planned as points: how they bend is not looked at. NULL for none.
   */
  const struct truebed_laid_slab *const *slabs;
  /**
   * Their number.
   */
  size_t slab_count;
  /**
   * What each support of a slab should carry at the least, N, with what its screw can add; at 0 more than
   * nothing.
   */
  double least_force_n;
} truebed_estimate_options;

/**
 * An estimate as a whole.
 */
typedef struct truebed_estimate_summary {
  /**
   * sizeof(truebed_estimate_summary), set by the caller.
   */
  size_t struct_size;
  /**
   * The number of jobs that were drawn.
   */
  size_t jobs;
  /**
   * The number of jobs that the stock serves.
   */
  size_t served_jobs;
  /**
   * The share of jobs that the stock serves; NaN where none was drawn.
   */
  double served;
  /**
   * The exact two-sided interval of that share (Clopper-Pearson).
   */
  double interval[2];
  /**
   * The share of the jobs served that need a lift again; NaN where it was not asked for.
   */
  double again;
  /**
   * 1 if the caller stopped it before all jobs were drawn, else 0.
   */
  int32_t stopped;
} truebed_estimate_summary;

/**
 * How to choose a kit. All zero asks for 95 % of the jobs at 95 % confidence, the fewest single pieces.
 */
typedef struct truebed_kit_options {
  /**
   * sizeof(truebed_kit_options), set by the caller.
   */
  size_t struct_size;
  /**
   * The share of jobs that the kit is to serve; 0 for 0.95.
   */
  double share;
  /**
   * How sure that is to be; 0 for 0.95.
   */
  double confidence;
  /**
   * Which jobs are drawn.
   */
  uint64_t seed;
  /**
   * Jobs that the kit is chosen on; 0 for 1000.
   */
  size_t training_jobs;
  /**
   * Fresh jobs that it is proven on, in each attempt; 0 for 1000.
   */
  size_t fresh_jobs;
  /**
   * The most pieces of each kind, as many as the stock has kinds; NULL for 50 of each.
   */
  const uint32_t *most;
  /**
   * How many numbers `most` has.
   */
  size_t most_count;
  /**
   * Pieces of each kind come in packs of so many, as many as the stock has kinds; NULL for single
   * pieces.
   */
  const uint32_t *packs;
  /**
   * How many numbers `packs` has.
   */
  size_t packs_count;
  /**
   * 1 for the least sum of prices, 0 for the fewest pieces.
   */
  int32_t cheapest;
  /**
   * Jobs of a day, which are all to be served from one stock, at most 20; 0 for 1.
   */
  size_t jobs_a_day;
  /**
   * The most threads; 0 for one for each core. The answer is the same on any number.
   */
  size_t threads;
  /**
   * The points of the slates of each job with their limits, joints and options, where the kit is to serve
   * them too, planned from what the legs leave; their heights do not matter, and their stock is
   * that of the legs. NULL for none. A front of kits takes none.
   */
  const struct truebed_problem *slates;
  /**
   * How the heights of the bare frame under the slates may differ once its legs are level. NULL where there
   * are no slates.
   */
  const struct truebed_floor_model *frame;
  /**
   * The slates that are plates, as in truebed_estimate_options. NULL for none.
   */
  const struct truebed_laid_slab *const *slabs;
  /**
   * Their number.
   */
  size_t slab_count;
  /**
   * What each support of a slab should carry at the least, N, with what its screw can add; at 0 more than
   * nothing.
   */
  double least_force_n;
} truebed_kit_options;

/**
 * A kit as a whole.
 */
typedef struct truebed_kit_summary {
  /**
   * sizeof(truebed_kit_summary), set by the caller.
   */
  size_t struct_size;
  /**
   * 1 if the fresh jobs prove the share at the confidence asked for, else 0.
   */
  int32_t meets_share;
  /**
   * 1 if no smaller kit serves as many of the training jobs, else 0.
   */
  int32_t proven;
  /**
   * The share of fresh jobs that the kit serves.
   */
  double served;
  /**
   * The exact two-sided interval of that share (Clopper-Pearson).
   */
  double interval[2];
  /**
   * How often a kit was chosen and tried on fresh jobs.
   */
  uint32_t attempts;
  /**
   * Fresh jobs of the attempt that decided.
   */
  size_t fresh_jobs;
  /**
   * Fresh jobs that the kit does not serve.
   */
  size_t failures;
  /**
   * The share of the training jobs that the kit was chosen to serve.
   */
  double training_share;
  /**
   * Plans that were solved for the choice.
   */
  size_t solved;
  /**
   * Plans that followed from others and were spared: one for each job and each kit that was told without.
   */
  size_t spared;
} truebed_kit_summary;

/**
 * The smallest survey that leaves no more doubt than asked for.
 */
typedef struct truebed_readings_needed {
  /**
   * sizeof(truebed_readings_needed), set by the caller.
   */
  size_t struct_size;
  /**
   * How often the pattern is gone through.
   */
  size_t rounds;
  /**
   * How many readings that is.
   */
  size_t readings;
  /**
   * The doubt that it leaves.
   */
  double doubt;
  /**
   * The standard uncertainty of the largest difference of two heights that it leaves, mm.
   */
  double sigma_mm;
} truebed_readings_needed;

/**
 * Makes the model of a floor of two F-numbers of ASTM E1155, each above 0. `*out` becomes the model; free
 * it with `truebed_floor_model_free`.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for numbers that are not above 0, and for `ff` not above
 * 0.2112 `fl`, which no roughness gives.
 */
int32_t truebed_floor_model_of_f_numbers(double ff,
                                         double fl,
                                         struct truebed_floor_model **out);

/**
 * Makes the model of a floor that just keeps a class, a TRUEBED_FLOOR_CLASS_ number. `*out` becomes the
 * model; free it with `truebed_floor_model_free`.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for an unknown class.
 */
int32_t truebed_floor_model_of_class(int32_t floor_class,
                                     struct truebed_floor_model **out);

/**
 * Makes the model of a floor whose heights are independent of each other, each with a standard deviation
 * in mm, 0 or more. `*out` becomes the model; free it with `truebed_floor_model_free`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE.
 */
int32_t truebed_floor_model_of_sigma(double sigma_mm,
                                     struct truebed_floor_model **out);

/**
 * Makes a model of the same floor with a mean slope that nobody knows: a normal slope of this standard
 * deviation along x, and another along y, mm/m, 0 or more. `*out` becomes the new model.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE.
 */
int32_t truebed_floor_model_with_fall(const struct truebed_floor_model *floor,
                                      double sigma_mm_per_m,
                                      struct truebed_floor_model **out);

/**
 * Makes the model that a floor of its kind updates: heights `z_mm` that were read at `count` places `xy_mm`
 * with a standard uncertainty of `sigma_mm` each. `worth` is how many differences of height the model
 * was worth before. `*out` becomes the new model, with all variances multiplied by `*factor`; that lies within
 * `interval` with a probability of 95 %. `*percentile` is the part of all floors of the old model that are
 * evener than the one read. `factor`, `interval` and `percentile` may be NULL.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE, TRUEBED_BAD_SHAPE, TRUEBED_BAD_GEOMETRY.
 */
int32_t truebed_floor_model_updated(const struct truebed_floor_model *floor,
                                    const double *xy_mm,
                                    const double *z_mm,
                                    size_t count,
                                    double sigma_mm,
                                    double worth,
                                    double *factor,
                                    double (*interval)[2],
                                    double *percentile,
                                    struct truebed_floor_model **out);

/**
 * The standard deviation of the difference of two heights that are `distance_mm` apart, mm, to `*out`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE.
 */
int32_t truebed_floor_model_sigma_mm(const struct truebed_floor_model *floor,
                                     double distance_mm,
                                     double *out);

/**
 * What was assumed beyond what is known of the floor, in whole sentences, one a line. `*out` becomes the
 * text; free it with `truebed_text_free`.
 *
 * Errors: TRUEBED_NULL_POINTER.
 */
int32_t truebed_floor_model_assumptions(const struct truebed_floor_model *floor,
                                        struct truebed_text **out);

/**
 * Draws floors: heights at `count` places `xy_mm`, `floors` × as many values, floor by floor, mm, to
 * `heights_mm`. The same seed gives the same digits on every machine.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_SHAPE for no places; TRUEBED_BAD_VALUE for places that are not
 * finite, and for more values than memory can hold.
 */
int32_t truebed_floor_model_sample(const struct truebed_floor_model *floor,
                                   const double *xy_mm,
                                   size_t count,
                                   size_t floors,
                                   uint64_t seed,
                                   double *heights_mm);

/**
 * Frees a floor model. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_floor_model_free(struct truebed_floor_model *floor);

/**
 * Estimates what jobs take on a floor: draws floors at the supports of the problem, whose own heights do
 * not matter, and plans each as `truebed_plan_shims` does, on all cores. `options` may be NULL for the
 * defaults. `*out` becomes the estimate; free it with `truebed_estimate_free`.
 *
 * `stop` may be NULL. It is called some fifty times a second, from the thread of this call, with `context`
 * and the number of jobs that are done; anything but 0 stops. What was drawn by then is the answer.
 *
 * Errors: those of `truebed_plan_shims`; TRUEBED_BAD_VALUE for options out of their range.
 */
int32_t truebed_estimate_jobs(const struct truebed_floor_model *floor,
                              const struct truebed_problem *problem,
                              const struct truebed_estimate_options *options,
                              int32_t (*stop)(void *context, size_t done),
                              void *context,
                              struct truebed_estimate **out);

/**
 * Writes the summary of an estimate to `*summary`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
 */
int32_t truebed_estimate_get_summary(const struct truebed_estimate *estimate,
                                     struct truebed_estimate_summary *summary);

/**
 * How many jobs are not served for a reason, a TRUEBED_REASON_ number, to `*jobs`.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for an unknown reason.
 */
int32_t truebed_estimate_reason(const struct truebed_estimate *estimate,
                                int32_t reason,
                                size_t *jobs);

/**
 * A figure of each job that was drawn, a TRUEBED_FIGURE_ number: NaN for a job that is not served. Prices
 * and minutes are no values where they were not asked for.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL, TRUEBED_BAD_VALUE.
 */
int32_t truebed_estimate_figures(const struct truebed_estimate *estimate,
                                 int32_t figure,
                                 double *buffer,
                                 size_t capacity,
                                 size_t *count);

/**
 * How far each support is lifted in each job, mm: job by job, as many values as jobs × supports; NaN for
 * a job that is not served.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_estimate_lifts_mm(const struct truebed_estimate *estimate,
                                  double *buffer,
                                  size_t capacity,
                                  size_t *count);

/**
 * Pieces of each kind that each job uses: job by job, as many values as jobs × kinds; NaN for a job that
 * is not served.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_estimate_used(const struct truebed_estimate *estimate,
                              double *buffer,
                              size_t capacity,
                              size_t *count);

/**
 * The smallest value of a figure that at least a part `p` of the jobs served do not exceed, to `*out`; NaN
 * where none is served, where the figure was not asked for, or unless 0 ≤ p ≤ 1.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE.
 */
int32_t truebed_estimate_quantile(const struct truebed_estimate *estimate,
                                  int32_t figure,
                                  double p,
                                  double *out);

/**
 * Frees an estimate. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_estimate_free(struct truebed_estimate *estimate);

/**
 * Chooses the smallest stock that serves a share of the jobs on a floor, and proves it on fresh jobs. The
 * heights of the problem's supports and the counts of its stock do not matter. `options` may be NULL for
 * the defaults. `*out` becomes the kit; free it with `truebed_kit_free`. `stop` is as in
 * `truebed_plan_shims_until`; the best kit found by then is the answer.
 *
 * Errors: those of `truebed_plan_shims`; TRUEBED_BAD_VALUE and TRUEBED_BAD_SHAPE for options out of their
 * range and lists of another size than the stock.
 */
int32_t truebed_find_kit(const struct truebed_floor_model *floor,
                         const struct truebed_problem *problem,
                         const struct truebed_kit_options *options,
                         int32_t (*stop)(void *context),
                         void *context,
                         struct truebed_kit **out);

/**
 * Writes the summary of a kit to `*summary`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE.
 */
int32_t truebed_kit_get_summary(const struct truebed_kit *kit, struct truebed_kit_summary *summary);

/**
 * Pieces of each kind, in the order of the stock; all that is allowed where even that does not serve the
 * share.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL.
 */
int32_t truebed_kit_counts(const struct truebed_kit *kit,
                           uint32_t *buffer,
                           size_t capacity,
                           size_t *count);

/**
 * What one more pack would bring to a kit, the best first: `*kind` becomes the kind by its index in the
 * stock, and `*share` the share of the training jobs that the kit then serves.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_UNKNOWN for an index that is not there.
 */
int32_t truebed_kit_addition(const struct truebed_kit *kit,
                             size_t at,
                             size_t *kind,
                             double *share);

/**
 * Frees a kit. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_kit_free(struct truebed_kit *kit);

/**
 * Finds the fewest rounds of a survey of `count` places `xy_mm` that leave at most `doubt`, between 0 and
 * 0.5: the probability that a bed that is brought level by these readings does not keep the limits. The
 * pattern is a TRUEBED_PATTERN_ number, `sigma_mm` the standard uncertainty of each reading, and `left_mm`
 * how far the plan leaves the bed from level at the worst (±), which is taken off every limit. There are no
 * joints.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_BAD_SHAPE for fewer than two places;
 * TRUEBED_BAD_VALUE for numbers out of their range, limits that `left_mm` uses up, and a doubt that a million
 * rounds do not reach.
 */
int32_t truebed_find_readings_needed(const double *xy_mm,
                                     size_t count,
                                     const struct truebed_limits *limits,
                                     int32_t pattern,
                                     double sigma_mm,
                                     double left_mm,
                                     double doubt,
                                     struct truebed_readings_needed *needed);

/** @} */

/**
 * @defgroup truebed_stream Tables of problems and of floors
 * columns in and columns out, by the Arrow C stream interface.
 * @{
 */

/* The structs of the Arrow C data and stream interfaces. Their specification explains the fields. */
/** @cond */
#ifndef ARROW_C_DATA_INTERFACE
#define ARROW_C_DATA_INTERFACE

#define ARROW_FLAG_DICTIONARY_ORDERED 1
#define ARROW_FLAG_NULLABLE 2
#define ARROW_FLAG_MAP_KEYS_SORTED 4

struct ArrowSchema {
  const char *format;
  const char *name;
  const char *metadata;
  int64_t flags;
  int64_t n_children;
  struct ArrowSchema **children;
  struct ArrowSchema *dictionary;
  void (*release)(struct ArrowSchema *);
  void *private_data;
};

struct ArrowArray {
  int64_t length;
  int64_t null_count;
  int64_t offset;
  int64_t n_buffers;
  int64_t n_children;
  const void **buffers;
  struct ArrowArray **children;
  struct ArrowArray *dictionary;
  void (*release)(struct ArrowArray *);
  void *private_data;
};

#endif /* ARROW_C_DATA_INTERFACE */

#ifndef ARROW_C_STREAM_INTERFACE
#define ARROW_C_STREAM_INTERFACE

struct ArrowArrayStream {
  int (*get_schema)(struct ArrowArrayStream *, struct ArrowSchema *out);
  int (*get_next)(struct ArrowArrayStream *, struct ArrowArray *out);
  const char *(*get_last_error)(struct ArrowArrayStream *);
  void (*release)(struct ArrowArrayStream *);
  void *private_data;
};

#endif /* ARROW_C_STREAM_INTERFACE */
/** @endcond */

/**
 * Plans a table of problems batch by batch. `input` is a stream of batches with the columns `x_mm`,
 * `y_mm` and `height_mm` (lists of numbers, one for each support) and `id`, if there is one, of any
 * type; other columns are passed over. `stock`, `limits` and `options` hold for all rows; options of
 * NULL are the defaults. Where `stock` is NULL each row has its own in the columns `stock_mm` and `stock_count` (lists; a
 * missing count is as many as it takes), and where `limits` is NULL its overall limit in `limit_mm`.
 * Planning uses at most `threads` threads; 0 stands for one for each core.
 *
 * `*output` becomes a stream of batches with the columns `id`, as it came in; `status` ("proven",
 * "budget" or "infeasible"); `pieces` (64-bit whole numbers); `worst_mm`; `stacks` (a list for each support
 * of the thickness of each piece in mm, thickest first; an adjustable piece as it is set); and `error`. A
 * row that is bad has its problems in `error` and nothing in the other columns but `id`; where a row is
 * good, `error` is missing. Rows keep their order, and the plans are those of `truebed_plan_shims`.
 * A batch of the input is planned when it is asked for, in batches of at most 8192 rows, so that
 * memory does not grow with the table.
 *
 * A call that succeeds takes `*input` over and marks it as released. Release `*output` by its own
 * `release`. Use it from one thread at a time.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_SHAPE for a stream that is released and for columns that
 * are missing or of another type; TRUEBED_STRUCT_SIZE; TRUEBED_BAD_VALUE for stock,
 * limits and options that cannot be read. What is wrong with stock, limits and options beyond that is
 * in `error` of each row.
 */
int32_t truebed_plan_stream(struct ArrowArrayStream *input,
                            const struct truebed_shim *stock,
                            size_t stock_count,
                            const struct truebed_limits *limits,
                            const struct truebed_plan_options *options,
                            size_t threads,
                            struct ArrowArrayStream *output);

/**
 * Estimates a table of floors batch by batch, as `truebed_estimate_jobs` does for one. `input` is a stream of
 * batches with the columns `x_mm` and `y_mm` (lists of numbers, one for each support); the floor of the row,
 * either its F-numbers `ff` and `fl` or the name of a class, `floor_class`; and `id`, if there is one, of
 * any type; other columns are passed over. `stock`, `limits` and `options` hold for all rows or stand in
 * columns, as `truebed_plan_stream` has them; so does `jobs`, where NULL is the defaults; second passes
 * are not counted. All rows draw their jobs from the same seed.
 *
 * `*output` becomes a stream of batches with the columns `id`, as it came in; `served`, the share of the
 * jobs that the stock serves, and its interval from `served_least` to `served_most`; `pieces`, `lifts`,
 * `thickest_mm`, `cost` and `minutes`, each a list with a value for each of the `quantiles` over the jobs
 * served, from 0 to 1 each (missing where there are no prices or minutes, NaN where no job is served);
 * and `error`. A row that is bad has its problems in `error` and nothing in the other columns but `id`. Rows
 * keep their order. A batch of the input is worked out when it is asked for, in batches of at most 8192
 * rows, so that memory does not grow with the table.
 *
 * A call that succeeds takes `*input` over and marks it as released. Release `*output` by its own
 * `release`. Use it from one thread at a time.
 *
 * Errors: those of `truebed_plan_stream`; TRUEBED_BAD_VALUE for `jobs` and `quantiles` out of their range, and
 * for second passes.
 */
int32_t truebed_estimate_stream(struct ArrowArrayStream *input,
                                const struct truebed_shim *stock,
                                size_t stock_count,
                                const struct truebed_limits *limits,
                                const struct truebed_plan_options *options,
                                const struct truebed_estimate_options *jobs,
                                const double *quantiles,
                                size_t quantile_count,
                                struct ArrowArrayStream *output);

/** @} */

/**
 * @defgroup truebed_kit_front The front of kits
 * pieces in the van against the share of jobs that they serve.
 * @{
 */

/**
 * A kit of a front.
 */
typedef struct truebed_front_kit {
  /**
   * sizeof(truebed_front_kit), set by the caller.
   */
  size_t struct_size;
  /**
   * Pieces in all.
   */
  uint32_t pieces;
  /**
   * 1 if no smaller kit serves as many of the training jobs, else 0.
   */
  int32_t proven;
  /**
   * The share of the training jobs that the kit was chosen to serve.
   */
  double training_share;
  /**
   * The share of fresh jobs that the kit serves.
   */
  double served;
  /**
   * The exact two-sided interval of that share (Clopper-Pearson), for this kit by itself.
   */
  double interval[2];
} truebed_front_kit;

/**
 * Finds the smallest kit for each of `share_count` shares of the training jobs, each between 0 and 1, and how
 * many fresh jobs it serves. Shares that no kit reaches, and kits no larger than the one before, are left
 * out. Of the options `share` is not used, and `confidence` is that of the intervals; `jobs_a_day` is 0 or 1.
 * `options` may be NULL for the defaults. `*out` becomes the front; free it with `truebed_kit_front_free`.
 * `stop` is as in `truebed_plan_shims_until`; the kits found by then are the answer.
 *
 * Errors: those of `truebed_find_kit`; TRUEBED_BAD_SHAPE for no shares, TRUEBED_BAD_VALUE for shares that are
 * not between 0 and 1 and for more than one job a day.
 */
int32_t truebed_find_kit_front(const struct truebed_floor_model *floor,
                               const struct truebed_problem *problem,
                               const struct truebed_kit_options *options,
                               const double *shares,
                               size_t share_count,
                               int32_t (*stop)(void *context),
                               void *context,
                               struct truebed_kit_front **out);

/**
 * The number of kits in a front. 0 for NULL; the call cannot fail.
 */
size_t truebed_kit_front_count(const struct truebed_kit_front *front);

/**
 * One kit of a front, by index, to `*kit`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE; TRUEBED_UNKNOWN for a kit that is not there.
 */
int32_t truebed_kit_front_get(const struct truebed_kit_front *front,
                              size_t at,
                              struct truebed_front_kit *kit);

/**
 * Pieces of each kind of one kit of a front, in the order of the stock.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BUFFER_TOO_SMALL; TRUEBED_UNKNOWN for a kit that is not there.
 */
int32_t truebed_kit_front_counts(const struct truebed_kit_front *front,
                                 size_t at,
                                 uint32_t *buffer,
                                 size_t capacity,
                                 size_t *count);

/**
 * Draws a front: how many pieces serve which share of the jobs, each share with its interval. `*out` becomes
 * an SVG with the cautions on it; free it with `truebed_text_free`.
 *
 * Errors: TRUEBED_NULL_POINTER.
 */
int32_t truebed_kit_front_picture(const struct truebed_kit_front *front,
                                  struct truebed_text **out);

/**
 * Frees a front. Freeing NULL does nothing; the call cannot fail.
 */
void truebed_kit_front_free(struct truebed_kit_front *front);

/** @} */

/**
 * @defgroup truebed_lifting Lifting
 * what a slate weighs, what stands on each leg, and how many people a lift takes.
 * @{
 */

/**
 * The mass of a slate, or of any plate of one thickness, to `*kg`: the area of its outline × thickness ×
 * density. `outline_mm` are its `corners` in plan in their order, x and y in turn. `centre_mm`, x and y,
 * becomes its centre of mass; it may be NULL.
 *
 * Heavy slabs are moved by enough trained people with proper lifting gear: show `truebed_cautions`.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_SHAPE for no corners; TRUEBED_BAD_VALUE for corners that are not
 * finite, a thickness or a density that is not above 0; TRUEBED_BAD_GEOMETRY for corners without an area.
 */
int32_t truebed_slate_mass(const double *outline_mm,
                           size_t corners,
                           double thickness_mm,
                           double density_kg_per_m3,
                           double *kg,
                           double (*centre_mm)[2]);

/**
 * What each of `count` legs at `xy_mm` carries of a mass of `kg` whose centre is at `x_mm`, `y_mm`.
 *
 * `stands_kg`, as many values, becomes what stands on each leg while the table stands on all: a rigid table
 * on equal springs, which is assumed. `raises_kg`, as many values, becomes the most that it takes to raise
 * each leg: the table then hangs on that leg and on what lies beyond its centre of mass. It is NaN where
 * the centre of mass is not between the legs, and may be NULL.
 *
 * Nobody puts a hand or a foot under a raised leg, and a jacked frame is blocked before anyone reaches
 * under it: show `truebed_cautions`.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_SHAPE for no legs; TRUEBED_BAD_VALUE for values that are not
 * finite and a mass below 0.
 */
int32_t truebed_leg_loads(const double *xy_mm,
                          size_t count,
                          double kg,
                          double x_mm,
                          double y_mm,
                          double *stands_kg,
                          double *raises_kg);

/**
 * How many people a lift of `kg` takes at no more than `kg_a_person` for each, to `*out`; 0 for 23 kg, the
 * load constant of the revised NIOSH lifting equation, 1994 (from memory). That is what a fit person may lift
 * once in a good posture with a good grip, no more. Show `truebed_cautions` beside it.
 *
 * Errors: TRUEBED_NULL_POINTER; TRUEBED_BAD_VALUE for numbers that are not finite or below 0.
 */
int32_t truebed_people(double kg,
                       double kg_a_person,
                       uint32_t *out);

/** @} */

/**
 * @defgroup truebed_picture Pictures
 * plans, trade-offs and surveys as SVG.
 * @{
 */

/**
 * Units of a picture: both, figures in millimetres and in inches and each piece as its box names
 * it, with the other unit beside it.
 */
#define TRUEBED_UNITS_BOTH 0

/**
 * Units of a picture: millimetres.
 */
#define TRUEBED_UNITS_METRIC 1

/**
 * Units of a picture: inches.
 */
#define TRUEBED_UNITS_INCH 2

/**
 * Draws a plan for the problem that it was found for, in `units`, a TRUEBED_UNITS_ number. `*out`
 * becomes an SVG, with no script in it and with a text for those who do not see it; supports are
 * named by their numbers from 0 on. Free it with `truebed_text_free`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_BAD_VALUE for other units,
 * TRUEBED_BAD_SHAPE for a plan of another problem, and those of `truebed_plan_shims`.
 */
int32_t truebed_plan_picture(const struct truebed_problem *problem,
                             const struct truebed_plan *plan,
                             int32_t units,
                             struct truebed_text **out);

/**
 * Draws what `truebed_plan_picture` draws for the screen of a phone: 380 pixels wide, set anew and not
 * shrunk. Free it with `truebed_text_free`.
 *
 * Errors: those of `truebed_plan_picture`.
 */
int32_t truebed_plan_picture_narrow(const struct truebed_problem *problem,
                                    const struct truebed_plan *plan,
                                    int32_t units,
                                    struct truebed_text **out);

/**
 * Draws the plans of a trade-off, pieces against worst deviation, in `units`, a TRUEBED_UNITS_
 * number. `*out` becomes an SVG; free it with `truebed_text_free`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE for other units.
 */
int32_t truebed_tradeoff_picture(const struct truebed_plans *plans,
                                 int32_t units,
                                 struct truebed_text **out);

/**
 * Draws what `truebed_tradeoff_picture` draws for the screen of a phone: 380 pixels wide, set anew and
 * not shrunk. Free it with `truebed_text_free`.
 *
 * Errors: those of `truebed_tradeoff_picture`.
 */
int32_t truebed_tradeoff_picture_narrow(const struct truebed_plans *plans,
                                        int32_t units,
                                        struct truebed_text **out);

/**
 * Draws the plans of a trade-off as `truebed_tradeoff_picture` does, with the probability that each
 * meets all limits beside it, as `truebed_plan_predict` foresees it for the problem that they were
 * found for. Where nothing is uncertain there are no probabilities.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_STRUCT_SIZE, TRUEBED_BAD_VALUE for other units,
 * TRUEBED_BAD_SHAPE for plans of another problem, and those of `truebed_plan_shims`.
 */
int32_t truebed_tradeoff_picture_predicted(const struct truebed_problem *problem,
                                           const struct truebed_plans *plans,
                                           int32_t units,
                                           struct truebed_text **out);

/**
 * Draws what `truebed_tradeoff_picture_predicted` draws for the screen of a phone: 380 pixels wide, set
 * anew and not shrunk. Free it with `truebed_text_free`.
 *
 * Errors: those of `truebed_tradeoff_picture_predicted`.
 */
int32_t truebed_tradeoff_picture_predicted_narrow(const struct truebed_problem *problem,
                                                  const struct truebed_plans *plans,
                                                  int32_t units,
                                                  struct truebed_text **out);

/**
 * Draws how far each reading of a survey is from what the others say, with the suspects marked;
 * readings are named by what they read, in millimetres and inches. `*out` becomes an SVG; free it with
 * `truebed_text_free`.
 *
 * Errors: TRUEBED_NULL_POINTER.
 */
int32_t truebed_heights_picture(const struct truebed_heights *heights,
                                struct truebed_text **out);

/**
 * Draws what `truebed_heights_picture` draws in `units`, a TRUEBED_UNITS_ number. Free it with
 * `truebed_text_free`.
 *
 * Errors: TRUEBED_NULL_POINTER, TRUEBED_BAD_VALUE for other units.
 */
int32_t truebed_heights_picture_in(const struct truebed_heights *heights,
                                   int32_t units,
                                   struct truebed_text **out);

/**
 * Draws what `truebed_heights_picture_in` draws for the screen of a phone: 380 pixels wide, set anew
 * and not shrunk. Free it with `truebed_text_free`.
 *
 * Errors: those of `truebed_heights_picture_in`.
 */
int32_t truebed_heights_picture_narrow(const struct truebed_heights *heights,
                                       int32_t units,
                                       struct truebed_text **out);

/** @} */

/**
 * @defgroup truebed_former Former names
 * kept for programs that use them.
 * @{
 */

/**
 * The former name of TRUEBED_FLOOR_CLASS_DIN_18202_ROW_1.
 */
#define TRUEBED_FLOOR_DIN_18202_ROW_1 1

/**
 * The former name of TRUEBED_FLOOR_CLASS_DIN_18202_ROW_2.
 */
#define TRUEBED_FLOOR_DIN_18202_ROW_2 2

/**
 * The former name of TRUEBED_FLOOR_CLASS_DIN_18202_ROW_3.
 */
#define TRUEBED_FLOOR_DIN_18202_ROW_3 3

/**
 * The former name of TRUEBED_FLOOR_CLASS_DIN_18202_ROW_4.
 */
#define TRUEBED_FLOOR_DIN_18202_ROW_4 4

/**
 * The former name of TRUEBED_FLOOR_CLASS_BS_8204_SR1.
 */
#define TRUEBED_FLOOR_BS_8204_SR1 5

/**
 * The former name of TRUEBED_FLOOR_CLASS_BS_8204_SR2.
 */
#define TRUEBED_FLOOR_BS_8204_SR2 6

/**
 * The former name of TRUEBED_FLOOR_CLASS_BS_8204_SR3.
 */
#define TRUEBED_FLOOR_BS_8204_SR3 7

/**
 * The former name of TRUEBED_FLOOR_CLASS_ACI_117_CONVENTIONAL.
 */
#define TRUEBED_FLOOR_ACI_117_CONVENTIONAL 8

/**
 * The former name of TRUEBED_FLOOR_CLASS_ACI_117_MODERATELY_FLAT.
 */
#define TRUEBED_FLOOR_ACI_117_MODERATELY_FLAT 9

/**
 * The former name of TRUEBED_FLOOR_CLASS_ACI_117_FLAT.
 */
#define TRUEBED_FLOOR_ACI_117_FLAT 10

/**
 * The former name of TRUEBED_FLOOR_CLASS_ACI_117_VERY_FLAT.
 */
#define TRUEBED_FLOOR_ACI_117_VERY_FLAT 11

/**
 * The former name of TRUEBED_FLOOR_CLASS_ACI_117_SUPERFLAT.
 */
#define TRUEBED_FLOOR_ACI_117_SUPERFLAT 12

/**
 * The former name of TRUEBED_FLOOR_FINDING_GAP.
 */
#define TRUEBED_FLOOR_GAP 0

/**
 * The former name of TRUEBED_FLOOR_FINDING_FF.
 */
#define TRUEBED_FLOOR_FF 1

/**
 * The former name of TRUEBED_FLOOR_FINDING_FL.
 */
#define TRUEBED_FLOOR_FL 2

/**
 * The former name of TRUEBED_FLOOR_FINDING_LINE_FF.
 */
#define TRUEBED_FLOOR_LINE_FF 3

/**
 * The former name of TRUEBED_FLOOR_FINDING_LINE_FL.
 */
#define TRUEBED_FLOOR_LINE_FL 4

/**
 * The former name of `truebed_heights_get_summary`: it does the same.
 *
 * Errors: those of `truebed_heights_get_summary`.
 */
int32_t truebed_heights_summarise(const struct truebed_heights *heights,
                                  struct truebed_heights_summary *summary);

/** @} */

#ifdef __cplusplus
} /* extern "C" */
#endif

#endif /* TRUEBED_H */
