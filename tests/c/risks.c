/* truebed_global_risks and truebed_guard_band: the ball bearing of JCGM 106:2012, 9.5.4 */
#include <math.h>

#include "check.h"

static int near(double got, double expected, double within) {
    return fabs(got - expected) <= within;
}

int main(void) {
    truebed_prior prior = {0};
    prior.struct_size = sizeof prior;
    prior.kind = TRUEBED_PRIOR_GAMMA;
    prior.shape = 4;
    prior.scale = 0.25;
    truebed_risks risks = {0};
    risks.struct_size = sizeof risks;
    CHECK(truebed_global_risks(&prior, 0.25, 2, 2, &risks) == TRUEBED_OK);
    CHECK(near(risks.nonconforming, 0.0423801, 5e-8) && near(risks.consumer, 0.0080191, 5e-8));
    CHECK(near(risks.producer, 0.017445, 5e-7));
    double band = 0;
    CHECK(truebed_guard_band(&prior, 0.25, 2, 0.001, &band) == TRUEBED_OK);
    CHECK(near(band, 0.328171, 5e-7));

    /* Both risks are alike where the prior is symmetric about the tolerance. */
    truebed_prior normal = {0};
    normal.struct_size = sizeof normal;
    normal.kind = TRUEBED_PRIOR_NORMAL;
    normal.mean = 5;
    normal.sigma = 1;
    CHECK(truebed_global_risks(&normal, 1, 5, 5, &risks) == TRUEBED_OK);
    CHECK(near(risks.consumer, 0.125, 1e-7) && near(risks.producer, 0.125, 1e-7));

    const truebed_risks before = risks;
    band = 7;
    REFUSED(truebed_global_risks(NULL, 1, 5, 5, &risks), TRUEBED_NULL_POINTER, "prior");
    REFUSED(truebed_global_risks(&normal, 1, 5, 5, NULL), TRUEBED_NULL_POINTER, "risks");
    REFUSED(truebed_guard_band(NULL, 1, 5, 0.01, &band), TRUEBED_NULL_POINTER, "prior");
    REFUSED(truebed_guard_band(&normal, 1, 5, 0.01, NULL), TRUEBED_NULL_POINTER, "band");
    const double wild[] = {0, -1, NAN, INFINITY};
    for (size_t at = 0; at < 4; at++) {
        REFUSED(truebed_global_risks(&normal, wild[at], 5, 5, &risks), TRUEBED_BAD_VALUE, "sigma");
        prior.scale = wild[at];
        REFUSED(truebed_global_risks(&prior, 1, 5, 5, &risks), TRUEBED_BAD_VALUE, "prior.scale");
        REFUSED(truebed_guard_band(&prior, 1, 5, 0.01, &band), TRUEBED_BAD_VALUE, "prior.scale");
    }
    REFUSED(truebed_global_risks(&normal, 1, NAN, 5, &risks), TRUEBED_BAD_VALUE, "tolerance");
    REFUSED(truebed_global_risks(&normal, 1, 5, NAN, &risks), TRUEBED_BAD_VALUE, "acceptance");
    REFUSED(truebed_guard_band(&normal, 1, 5, 0.5, &band), TRUEBED_BAD_VALUE, "risk");
    /* Numbers of the other kind of prior, and a kind that is none. */
    prior.scale = 0.25;
    prior.mean = 1;
    REFUSED(truebed_global_risks(&prior, 1, 5, 5, &risks), TRUEBED_BAD_VALUE, "prior.mean");
    normal.shape = 1;
    REFUSED(truebed_global_risks(&normal, 1, 5, 5, &risks), TRUEBED_BAD_VALUE, "prior.shape");
    prior.kind = 2;
    REFUSED(truebed_guard_band(&prior, 1, 5, 0.01, &band), TRUEBED_BAD_VALUE, "prior.kind");
    prior.struct_size = 3;
    REFUSED(truebed_guard_band(&prior, 1, 5, 0.01, &band), TRUEBED_STRUCT_SIZE, "prior.struct_size");
    CHECK(memcmp(&risks, &before, sizeof risks) == 0 && band == 7);
    risks.struct_size = 0;
    REFUSED(truebed_global_risks(&normal, 1, 5, 5, &risks), TRUEBED_STRUCT_SIZE, "risks.struct_size");
    return 0;
}
