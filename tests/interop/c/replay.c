/*
 * Replays exported sequences through the C library and prints their digests, as `digests.txt` of the export has them.
 *
 *   replay FILE.seq...          one line for every thousand steps and the last one: name, steps, digest
 *   replay --steps N FILE.seq   N steps, the sequence over and over; prints the last digest
 *
 * The form of a sequence: "couplseq", seven little-endian words (version 1, layout of the page, entries, inputs, period in
 * microseconds, start temperature as float, steps), the page's numbers, then per step and input value, age, status. The digest is
 * FNV-1a over the bits of every output as a float, in the order of the table.
 */
#include "couplet.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

_Static_assert(sizeof(couplet_reading) == 8, "a reading is value, age, status");
_Static_assert(sizeof(couplet_inputs) == COUPLET_INPUTS * sizeof(couplet_reading), "inputs have no gaps");
_Static_assert(sizeof(couplet_outputs) == COUPLET_OUTPUTS * sizeof(float), "outputs have no gaps");
_Static_assert(sizeof(couplet_page) == (2 + COUPLET_PAGE_ENTRIES) * sizeof(float), "a page has no gaps");

static _Alignas(COUPLET_MEMORY_ALIGNMENT) unsigned char memory[COUPLET_MEMORY_BYTES];

static void fail(const char *name, const char *why)
{
    fprintf(stderr, "replay: %s: %s\n", name, why);
    exit(1);
}

static void must(const char *name, couplet_status status)
{
    if (status != COUPLET_OK) {
        fail(name, couplet_status_text(status));
    }
}

static uint32_t word(const unsigned char *bytes)
{
    return (uint32_t)bytes[0] | (uint32_t)bytes[1] << 8 | (uint32_t)bytes[2] << 16 | (uint32_t)bytes[3] << 24;
}

static float number(const unsigned char *bytes)
{
    uint32_t bits = word(bytes);
    float value;
    memcpy(&value, &bits, sizeof value);
    return value;
}

static unsigned char *content(const char *name, size_t *size)
{
    FILE *file = fopen(name, "rb");
    if (file == NULL) {
        fail(name, strerror(errno));
    }
    unsigned char *bytes = NULL;
    size_t room = 0;
    *size = 0;
    for (;;) {
        if (*size == room) {
            room = room == 0 ? 65536 : 2 * room;
            unsigned char *more = realloc(bytes, room);
            if (more == NULL) {
                fail(name, "too large");
            }
            bytes = more;
        }
        size_t got = fread(bytes + *size, 1, room - *size, file);
        if (got == 0) {
            break;
        }
        *size += got;
    }
    fclose(file);
    return bytes;
}

static uint64_t fold(uint64_t digest, const couplet_outputs *outputs)
{
    for (uint32_t index = 0; index < COUPLET_OUTPUTS; index++) {
        float value;
        uint32_t bits;
        must("output", couplet_output_get(outputs, index, &value));
        memcpy(&bits, &value, sizeof bits);
        digest = (digest ^ bits) * UINT64_C(0x00000100000001b3);
    }
    return digest;
}

/* Replays one file; `least` steps, the sequence over and over, or the sequence once if `least` is 0. */
static void replay(const char *path, unsigned long least)
{
    const char *slash = strrchr(path, '/');
    const char *name = slash == NULL ? path : slash + 1;
    size_t length = strcspn(name, ".");
    size_t size;
    unsigned char *bytes = content(path, &size);
    const size_t head = 8 + 7 * 4, pages = 4 * (size_t)COUPLET_PAGE_ENTRIES, row = 8 * (size_t)COUPLET_INPUTS;
    if (size < head + pages || memcmp(bytes, "couplseq", 8) != 0 || word(bytes + 8) != 1) {
        fail(path, "not a sequence of version 1");
    }
    if (word(bytes + 12) != COUPLET_PAGE_LAYOUT || word(bytes + 16) != COUPLET_PAGE_ENTRIES ||
        word(bytes + 20) != COUPLET_INPUTS) {
        fail(path, "made for another version");
    }
    uint32_t steps = word(bytes + 32);
    if (size != head + pages + steps * row || steps == 0) {
        fail(path, "not as long as it says");
    }
    couplet_page page;
    must(path, couplet_page_default(&page));
    for (uint32_t index = 0; index < COUPLET_PAGE_ENTRIES; index++) {
        must(path, couplet_page_set(&page, index, number(bytes + head + 4 * (size_t)index)));
    }
    couplet_law *law = (couplet_law *)memory;
    couplet_refusal refusal;
    couplet_status status = couplet_init(law, sizeof memory, COUPLET_LAYOUT, &page, word(bytes + 24), &refusal);
    must(path, status);
    must(path, couplet_set_temperature(law, number(bytes + 28)));
    uint64_t digest = UINT64_C(0xcbf29ce484222325);
    unsigned long done = 0;
    do {
        for (uint32_t step = 0; step < steps && (least == 0 || done < least); step++) {
            const unsigned char *place = bytes + head + pages + step * row;
            couplet_inputs inputs;
            for (uint32_t index = 0; index < COUPLET_INPUTS; index++, place += 8) {
                couplet_reading reading;
                reading.value = number(place);
                reading.age_ms = (uint16_t)(place[4] | place[5] << 8);
                reading.status = (uint16_t)(place[6] | place[7] << 8);
                memcpy((unsigned char *)&inputs + 8 * index, &reading, sizeof reading);
            }
            couplet_outputs outputs;
            must(path, couplet_step(law, &inputs, &outputs));
            digest = fold(digest, &outputs);
            done += 1;
            if (least == 0 && (done % 1000 == 0 || done == steps)) {
                printf("%.*s %lu %016llx\n", (int)length, name, done, (unsigned long long)digest);
            }
        }
    } while (done < least);
    if (least > 0) {
        printf("%.*s %lu %016llx\n", (int)length, name, done, (unsigned long long)digest);
    }
    free(bytes);
}

int main(int count, char **words)
{
    if (couplet_layout() != COUPLET_LAYOUT) {
        fail("library", "made for another header");
    }
    if (count == 4 && strcmp(words[1], "--steps") == 0) {
        char *end;
        unsigned long steps = strtoul(words[2], &end, 10);
        if (*end != '\0' || steps == 0) {
            fail(words[2], "no number of steps");
        }
        replay(words[3], steps);
        return 0;
    }
    if (count < 2) {
        fail("usage", "replay FILE.seq... | replay --steps N FILE.seq");
    }
    for (int index = 1; index < count; index++) {
        replay(words[index], 0);
    }
    return 0;
}
