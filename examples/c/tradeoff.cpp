// How much flatter, and how much surer to be level, a bed gets for more pieces: the trade-off of four
// invented legs, whose heights were read to 0.1 mm.
//
//     tradeoff LIMIT
//
// LIMIT is the ± that the legs must keep, with its unit, as in "0.2 mm". The list is there to choose
// a limit by; what a crew works by is the work sheet of a job.
//
// Exit codes: 0 listed; 1 the stock cannot keep the limit; 2 wrong usage; 3 the list cannot be written;
// 4 the limit is refused. Standard error says why in the cases 2 to 4.
//
// Build: c++ -std=c++17 tradeoff.cpp -ltruebed -o tradeoff
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <cstring>

#include "truebed.hpp"

static int list(const char *limit) {
    const truebed::Problem problem(
        {{0, 0, 0}, {2134, 0, -4.2}, {2134, 1016, -1.1}, {0, 1016, -2.5}},
        {truebed::shim("1/16 in", 8), truebed::shim("0.020 in", 8), truebed::shim("0.005 in", 12)},
        truebed::mm(limit), 0.1);
    const truebed::Plans plans = truebed::Plans::tradeoff(problem);
    if (!plans[0].meets_limits) {
        std::printf("no plan keeps %s\n", limit);
        return 1;
    }
    std::puts("invented legs\npieces  off level  meets the limit\n");
    for (std::size_t at = 0; at < plans.size(); at++) {
        const auto verdict = truebed::Verdict::predict(problem, plans.get(at)).summary();
        std::printf("%6zu   %.3f mm  with %5.1f %%%s\n", plans[at].pieces, plans[at].worst_mm,
                    100 * verdict.probability, verdict.conformity == TRUEBED_MET ? ", surely" : "");
    }
    std::puts("\nTo choose by, not to lift by: the work sheet says what anyone who lifts must know.");
    return 0;
}

int main(int count, char **arguments) {
    if (count != 2) {
        std::fputs("usage: tradeoff LIMIT, as in tradeoff \"0.2 mm\"\n", stderr);
        return 2;
    }
#ifdef SIGPIPE
    // Where nobody reads the list any more, writing fails and says so, and does not kill.
    std::signal(SIGPIPE, SIG_IGN);
#endif
    try {
        const int code = list(arguments[1]);
        if (std::fflush(stdout) != 0 || std::ferror(stdout) != 0) {
            std::fprintf(stderr, "standard output: %s\n", std::strerror(errno));
            return 3;
        }
        return code;
    } catch (const truebed::Error &error) {
        std::fprintf(stderr, "%s\n", error.what());
        return 4;
    }
}
