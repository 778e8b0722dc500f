// The header by itself, as C++.
#include "truebed.h"

int main() {
    truebed_limits limits = {};
    limits.struct_size = sizeof limits;
    truebed_text_free(nullptr);
    return truebed_status_text(TRUEBED_OK) == nullptr;
}
