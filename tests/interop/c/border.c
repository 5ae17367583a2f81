/*
 * What C can get wrong at the border: every wrong argument gives its status, nothing crashes, nothing is written.
 */
#include "couplet.h"

#include <float.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static _Alignas(COUPLET_MEMORY_ALIGNMENT) unsigned char memory[COUPLET_MEMORY_BYTES];
static _Alignas(COUPLET_MEMORY_ALIGNMENT) unsigned char other[COUPLET_MEMORY_BYTES];
static int faults;

static void expect(int line, const char *what, couplet_status found, couplet_status expected)
{
    if (found != expected) {
        printf("border.c:%d: %s: %s, expected %s\n", line, what, couplet_status_text(found), couplet_status_text(expected));
        faults += 1;
    }
}

static void expect_true(int line, const char *what, int holds)
{
    if (!holds) {
        printf("border.c:%d: %s does not hold\n", line, what);
        faults += 1;
    }
}

#define EXPECT(call, status) expect(__LINE__, #call, (call), (status))
#define EXPECT_TRUE(what) expect_true(__LINE__, #what, (what))

int main(void)
{
    couplet_law *law = (couplet_law *)memory;
    couplet_law *odd = (couplet_law *)(memory + 4);
    couplet_law *empty = (couplet_law *)other;
    couplet_inputs inputs;
    couplet_outputs outputs, before;
    couplet_page page;
    couplet_refusal why;
    couplet_signal signal;
    couplet_entry entry;
    couplet_woken woken;
    couplet_end_of_line unit = {0.3f, 0.1f, 0.02f};
    uint32_t index = 77;
    uint64_t now_s = 2000;
    float value = 0.0f;
    float trace[COUPLET_TRACE];
    unsigned char first[COUPLET_RECORD_BYTES], second[COUPLET_RECORD_BYTES];

    EXPECT_TRUE(couplet_size() <= COUPLET_MEMORY_BYTES);
    EXPECT_TRUE(couplet_alignment() <= COUPLET_MEMORY_ALIGNMENT);
    EXPECT_TRUE(strcmp(couplet_version(), VERSION) == 0);
    memset(&inputs, 0, sizeof inputs);
    memset(&outputs, 0x5a, sizeof outputs);
    before = outputs;

    EXPECT(couplet_step(law, &inputs, &outputs), COUPLET_NO_CONTROLLER);
    EXPECT(couplet_init(NULL, sizeof memory, COUPLET_LAYOUT, NULL, 5000, NULL), COUPLET_NULL_ARGUMENT);
    EXPECT(couplet_init(odd, sizeof memory, COUPLET_LAYOUT, NULL, 5000, NULL), COUPLET_MISALIGNED);
    EXPECT(couplet_init(law, couplet_size() - 1, COUPLET_LAYOUT, NULL, 5000, NULL), COUPLET_WRONG_SIZE);
    EXPECT(couplet_init(law, sizeof memory, COUPLET_LAYOUT + 1u, NULL, 5000, NULL), COUPLET_OTHER_HEADER);
    EXPECT(couplet_init(law, sizeof memory, COUPLET_LAYOUT, NULL, 0, NULL), COUPLET_PERIOD);
    EXPECT(couplet_init(law, sizeof memory, COUPLET_LAYOUT, NULL, 5000, &why), COUPLET_OK);
    EXPECT_TRUE(why.status == COUPLET_OK && why.name != NULL && why.message != NULL);

    EXPECT(couplet_step(NULL, &inputs, &outputs), COUPLET_NULL_ARGUMENT);
    EXPECT(couplet_step(law, NULL, &outputs), COUPLET_NULL_ARGUMENT);
    EXPECT(couplet_step(law, &inputs, NULL), COUPLET_NULL_ARGUMENT);
    EXPECT(couplet_step(odd, &inputs, &outputs), COUPLET_MISALIGNED);
    EXPECT(couplet_step(empty, &inputs, &outputs), COUPLET_NO_CONTROLLER);
    EXPECT(couplet_step(law, &inputs, (couplet_outputs *)law), COUPLET_OVERLAP);
    EXPECT_TRUE(memcmp(&outputs, &before, sizeof outputs) == 0);
    EXPECT(couplet_step(law, &inputs, &outputs), COUPLET_OK);
    EXPECT_TRUE(outputs.capacity_left == 0.0f && outputs.capacity_right == 0.0f);
    EXPECT_TRUE(outputs.health == 2);

    EXPECT(couplet_page_default(&page), COUPLET_OK);
    EXPECT_TRUE(page.layout == COUPLET_PAGE_LAYOUT && page.entries == COUPLET_PAGE_ENTRIES);
    page.setting_agility = NAN;
    EXPECT(couplet_page_take(law, &page, &why), COUPLET_PAGE_OUT_OF_RANGE);
    EXPECT_TRUE(strcmp(why.name, "setting.agility") == 0 && why.low == 0.0f && why.high == 1.0f);
    EXPECT(couplet_page_in_force(law, &page), COUPLET_OK);
    EXPECT_TRUE(page.setting_agility == 0.5f);
    EXPECT(couplet_page_find("setting.steadiness", &index), COUPLET_OK);
    EXPECT(couplet_page_set(&page, index, 0.75f), COUPLET_OK);
    EXPECT(couplet_page_take(law, &page, NULL), COUPLET_OK);
    EXPECT(couplet_page_in_force(law, &page), COUPLET_OK);
    EXPECT(couplet_page_get(&page, index, &value), COUPLET_OK);
    EXPECT_TRUE(value == 0.75f);
    EXPECT(couplet_page_find("setting.nothing", &index), COUPLET_NO_SUCH_ENTRY);
    EXPECT(couplet_page_find(NULL, &index), COUPLET_NULL_ARGUMENT);
    EXPECT(couplet_page_entry(0, &entry), COUPLET_OK);
    EXPECT_TRUE(strcmp(entry.unit, "-") == 0 && entry.normal == 0.5f);

    EXPECT(couplet_copy(empty, sizeof other, law), COUPLET_OK);
    EXPECT(couplet_copy(law, sizeof memory, law), COUPLET_OVERLAP);
    EXPECT_TRUE(couplet_step(law, &inputs, &outputs) == COUPLET_OK && couplet_step(empty, &inputs, &before) == COUPLET_OK);
    EXPECT_TRUE(memcmp(&outputs, &before, sizeof outputs) == 0);
    EXPECT(couplet_set_temperature(law, NAN), COUPLET_NOT_A_NUMBER);

    EXPECT(couplet_keep(law, 1, 1000, 0, first, sizeof first - 1), COUPLET_WRONG_SIZE);
    EXPECT(couplet_keep(law, 1, 1000, 0, first, sizeof first), COUPLET_OK);
    EXPECT(couplet_keep(law, 2, 1001, 0, second, sizeof second), COUPLET_OK);
    EXPECT(couplet_wake(law, first, second, sizeof first, &now_s, 20.0f, &woken), COUPLET_OK);
    EXPECT_TRUE(woken.slot == 2 && woken.heat == 0 && woken.gap == 0);
    EXPECT(couplet_next_slot(first, second, sizeof first, &index), COUPLET_OK);
    EXPECT_TRUE(index == 1);
    EXPECT(couplet_wake(law, first, second, 0, &now_s, 20.0f, NULL), COUPLET_WRONG_SIZE);
    EXPECT(couplet_wake(law, first, NULL, sizeof first, NULL, 20.0f, NULL), COUPLET_NULL_ARGUMENT);
    memset(first, 0xff, sizeof first);
    memset(second, 0, sizeof second);
    EXPECT(couplet_wake(law, first, second, sizeof first, NULL, 20.0f, &woken), COUPLET_OK);
    EXPECT_TRUE(woken.slot == 0 && woken.heat == 2 && woken.gap != 0);
    EXPECT(couplet_renewed(law, 9), COUPLET_NO_SUCH_ENTRY);

    /* A new unit on the left is known from then on, and forgotten where nothing is known of the next one. */
    EXPECT(couplet_keep(law, 1, 1000, 0, first, sizeof first), COUPLET_OK);
    EXPECT(couplet_replace_unit(law, 1, &unit), COUPLET_OK);
    EXPECT(couplet_keep(law, 1, 1000, 0, second, sizeof second), COUPLET_OK);
    EXPECT_TRUE(memcmp(first, second, sizeof first) != 0);
    EXPECT(couplet_replace_unit(law, 2, NULL), COUPLET_OK);
    EXPECT(couplet_keep(law, 1, 1000, 0, first, sizeof first), COUPLET_OK);
    EXPECT_TRUE(memcmp(first, second, sizeof first) == 0);
    EXPECT(couplet_replace_unit(law, 1, NULL), COUPLET_OK);
    EXPECT(couplet_keep(law, 1, 1000, 0, second, sizeof second), COUPLET_OK);
    EXPECT_TRUE(memcmp(first, second, sizeof first) != 0);
    EXPECT(couplet_replace_unit(law, 3, &unit), COUPLET_NO_SUCH_ENTRY);
    EXPECT(couplet_replace_unit(NULL, 1, &unit), COUPLET_NULL_ARGUMENT);
    unit.touch_point_bar = NAN;
    EXPECT(couplet_replace_unit(law, 1, &unit), COUPLET_NOT_A_NUMBER);

    for (index = 0; index < COUPLET_INPUTS; index++) {
        EXPECT(couplet_input_signal(index, &signal), COUPLET_OK);
        EXPECT_TRUE(signal.low < signal.high && strlen(signal.meaning) > 5);
    }
    EXPECT(couplet_input_signal(COUPLET_INPUTS, &signal), COUPLET_NO_SUCH_ENTRY);
    EXPECT(couplet_output_signal(COUPLET_OUTPUTS, &signal), COUPLET_NO_SUCH_ENTRY);
    EXPECT(couplet_trace_signal(0, &signal), COUPLET_OK);
    EXPECT_TRUE(signal.high == FLT_MAX);
    EXPECT(couplet_trace(law, trace, COUPLET_TRACE), COUPLET_OK);
    EXPECT(couplet_trace(law, trace, COUPLET_TRACE - 1), COUPLET_WRONG_SIZE);
    EXPECT_TRUE(couplet_fault_name(0) != NULL && couplet_fault_name(32) == NULL);
    EXPECT_TRUE(couplet_limit_name(0) != NULL && couplet_limit_name(1000) == NULL);

    /* A controller whose first word was overwritten is none any more. */
    memory[0] ^= 0xff;
    EXPECT(couplet_step(law, &inputs, &outputs), COUPLET_NO_CONTROLLER);
    if (faults == 0) {
        printf("border: every wrong argument was told\n");
    }
    return faults == 0 ? 0 : 1;
}
