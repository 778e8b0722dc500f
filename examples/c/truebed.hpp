// truebed for C++: the handles own themselves, and what fails throws.
//
// A sample of how to wrap the C library, and no more of it than the program beside it needs.
#ifndef TRUEBED_HPP
#define TRUEBED_HPP

#include <cstddef>
#include <memory>
#include <stdexcept>
#include <string>
#include <vector>

#include "truebed.h"

namespace truebed {

// A call that failed: its status, and what was wrong by field and index.
class Error : public std::runtime_error {
public:
    explicit Error(std::int32_t status) : std::runtime_error(truebed_last_error()), status(status) {}

    std::int32_t status;
};

inline void check(std::int32_t status) {
    if (status != TRUEBED_OK) {
        throw Error(status);
    }
}

// A length with its unit, as "1/16 in", in millimetres.
inline double mm(const std::string &text) {
    double mm = 0;
    check(truebed_length_parse_mm(text.c_str(), &mm));
    return mm;
}

// A kind of shim: its thickness with its unit, and how many there are.
inline truebed_shim shim(const std::string &thickness, std::int64_t count = TRUEBED_UNLIMITED) {
    truebed_shim shim{};
    shim.thickness_mm = mm(thickness);
    shim.count = count;
    return shim;
}

// A shim problem that owns all that it points to.
class Problem {
public:
    // sigma_mm is the standard uncertainty of each height.
    Problem(std::vector<truebed_support> supports, std::vector<truebed_shim> stock, double overall_mm,
            double sigma_mm)
        : supports(std::move(supports)), stock(std::move(stock)) {
        const std::size_t count = this->supports.size();
        covariance.resize(count * count);
        for (std::size_t at = 0; at < count; at++) {
            covariance[at * count + at] = sigma_mm * sigma_mm;
        }
        limits.struct_size = sizeof limits;
        limits.asked = TRUEBED_LIMIT_OVERALL;
        limits.overall_mm = overall_mm;
    }

    // What the C library is handed; it points into this object.
    truebed_problem c() const {
        truebed_problem problem{};
        problem.struct_size = sizeof problem;
        problem.supports = supports.data();
        problem.support_count = supports.size();
        problem.stock = stock.data();
        problem.stock_count = stock.size();
        problem.limits = &limits;
        problem.covariance_mm2 = covariance.data();
        return problem;
    }

private:
    std::vector<truebed_support> supports;
    std::vector<truebed_shim> stock;
    std::vector<double> covariance;
    truebed_limits limits{};
};

// Whether limits are met, and how sure that is.
class Verdict {
public:
    // What a plan leads one to expect, by the rule of ISO 14253-1.
    static Verdict predict(const Problem &problem, const truebed_plan *plan) {
        const truebed_problem asked = problem.c();
        truebed_verdict *verdict = nullptr;
        check(truebed_plan_predict(&asked, plan, TRUEBED_RULE_ISO_14253_1, 0, &verdict));
        return Verdict(verdict);
    }

    truebed_verdict_summary summary() const {
        truebed_verdict_summary summary{};
        summary.struct_size = sizeof summary;
        check(truebed_verdict_get_summary(verdict.get(), &summary));
        return summary;
    }

private:
    struct Free {
        void operator()(truebed_verdict *verdict) const { truebed_verdict_free(verdict); }
    };

    explicit Verdict(truebed_verdict *verdict) : verdict(verdict) {}

    std::unique_ptr<truebed_verdict, Free> verdict;
};

// Plans that are freed with the list.
class Plans {
public:
    // The trade-off between pieces and flatness.
    static Plans tradeoff(const Problem &problem) {
        const truebed_problem asked = problem.c();
        truebed_plans *plans = nullptr;
        check(truebed_tradeoff(&asked, &plans));
        return Plans(plans);
    }

    std::size_t size() const { return truebed_plans_count(plans.get()); }

    truebed_plan_summary operator[](std::size_t at) const {
        truebed_plan_summary summary{};
        summary.struct_size = sizeof summary;
        check(truebed_plan_get_summary(get(at), &summary));
        return summary;
    }

    // One plan, which belongs to the list.
    const truebed_plan *get(std::size_t at) const {
        const truebed_plan *plan = nullptr;
        check(truebed_plans_get(plans.get(), at, &plan));
        return plan;
    }

private:
    struct Free {
        void operator()(truebed_plans *plans) const { truebed_plans_free(plans); }
    };

    explicit Plans(truebed_plans *plans) : plans(plans) {}

    std::unique_ptr<truebed_plans, Free> plans;
};

} // namespace truebed

#endif
