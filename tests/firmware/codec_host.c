/* The firmware's codec on this machine. Lines in, lines out:
 *   decode HEX   -> for each frame its decoded bytes in hex, or `bad`; `nothing` where neither came
 *   encode HEX   -> the decoded bytes without their checksum, as they go over the wire
 */
#include <stdio.h>
#include <string.h>

#include "frame.h"

static int unhex(const char *text, uint8_t *bytes)
{
    int count = 0;
    unsigned value;
    for (; sscanf(text, "%2x", &value) == 1; text += 2)
        bytes[count++] = (uint8_t)value;
    return count;
}

static void print_hex(const uint8_t *bytes, int count)
{
    for (int i = 0; i < count; i++)
        printf("%02x", bytes[i]);
}

static void decode(const uint8_t *bytes, int count)
{
    struct decoder decoder;
    int found = 0;
    decoder_begin(&decoder);
    for (int i = 0; i < count; i++) {
        enum decoded decoded = decoder_take(&decoder, bytes[i]);
        if (decoded == DECODED_NOTHING)
            continue;
        printf("%s", found++ ? " " : "");
        if (decoded == DECODED_FRAME) {
            print_hex(decoder.data, decoder.length);
            decoder_begin(&decoder);
        } else {
            printf("bad");
        }
    }
    printf("%s\n", found ? "" : "nothing");
}

static void encode(const uint8_t *bytes, int count)
{
    uint8_t wire[FRAME_MAX_WIRE];
    frame_begin(wire);
    for (int i = 0; i < count; i++)
        frame_put(bytes[i]);
    print_hex(wire, (int)(frame_end() - wire));
    printf("\n");
}

int main(void)
{
    static char line[1 << 16];
    static uint8_t bytes[1 << 15];
    setvbuf(stdout, NULL, _IOLBF, 0);
    frame_start();
    while (fgets(line, sizeof line, stdin)) {
        if (!strncmp(line, "decode ", 7))
            decode(bytes, unhex(line + 7, bytes));
        else if (!strncmp(line, "encode ", 7))
            encode(bytes, unhex(line + 7, bytes));
    }
    return 0;
}
