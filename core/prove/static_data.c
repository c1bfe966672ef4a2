/* static_data.c - source: System V ABI, "Program Header" and "Symbol Table"; dl_iterate_phdr(3). */
#define _GNU_SOURCE
#include "prove/static_data.h"

#include <elf.h>
#include <fcntl.h>
#include <link.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

typedef struct wanted {
    const unsigned char *address;
    static_data *data;
    bool found, starved;
} wanted;

static bool holds(const struct dl_phdr_info *info, const unsigned char *address)
{
    for (int i = 0; i < info->dlpi_phnum; i++) {
        const ElfW(Phdr) *segment = &info->dlpi_phdr[i];
        // NOLINTNEXTLINE(performance-no-int-to-ptr): the loader gives addresses as numbers
        const unsigned char *start = (const unsigned char *)info->dlpi_addr + segment->p_vaddr;
        if (segment->p_type == PT_LOAD && address >= start && address < start + segment->p_memsz) return true;
    }
    return false;
}

/* A sanitizer puts forbidden ground between a module's variables; this looks at all bytes, and so may not be
 * watched.  Volatile: or the compiler makes a memcpy of it, which is. */
#define UNWATCHED __attribute__((no_sanitize("address", "thread")))

UNWATCHED static void copy_bytes(unsigned char *to, const volatile unsigned char *from, size_t size)
{
    for (size_t i = 0; i < size; i++) to[i] = from[i];
}

/* Index of the first byte from `at` on that differs, size when none does. */
UNWATCHED static size_t next_change(const static_piece *piece, size_t at)
{
    const volatile unsigned char *now = piece->start;
    while (at < piece->size && now[at] == piece->copy[at]) at++;
    return at;
}

static bool keep(static_data *data, const unsigned char *start, const unsigned char *end)
{
    if (start >= end || data->pieces == STATIC_PIECES) return true;
    static_piece *piece = &data->piece[data->pieces];
    *piece = (static_piece){start, malloc((size_t)(end - start)), (size_t)(end - start)};
    if (!piece->copy) return false;
    copy_bytes(piece->copy, start, piece->size);
    data->pieces++;
    data->bytes += piece->size;
    return true;
}

/* Writable segments, without the part the loader makes read-only once it has relocated it. */
static int visit(struct dl_phdr_info *info, size_t size, void *argument)
{
    (void)size;
    wanted *w = argument;
    // NOLINTNEXTLINE(performance-no-int-to-ptr): the loader gives addresses as numbers
    const unsigned char *base = (const unsigned char *)info->dlpi_addr, *from = NULL, *to = NULL;
    if (!holds(info, w->address)) return 0;
    w->found = true;
    w->data->base = base;
    snprintf(w->data->path, sizeof w->data->path, "%s", info->dlpi_name ? info->dlpi_name : "");
    for (int i = 0; i < info->dlpi_phnum; i++)
        if (info->dlpi_phdr[i].p_type == PT_GNU_RELRO) {
            from = base + info->dlpi_phdr[i].p_vaddr;
            to = from + info->dlpi_phdr[i].p_memsz;
        }
    for (int i = 0; i < info->dlpi_phnum; i++) {
        const ElfW(Phdr) *segment = &info->dlpi_phdr[i];
        const unsigned char *start = base + segment->p_vaddr, *end = start + segment->p_memsz;
        if (segment->p_type != PT_LOAD || !(segment->p_flags & PF_W)) continue;
        if (from && from >= start && from < end)
            w->starved |= !keep(w->data, start, from) || !keep(w->data, to, end);
        else
            w->starved |= !keep(w->data, start, end);
    }
    return 1;
}

bool static_data_copy(static_data *data, const void *address)
{
    memset(data, 0, sizeof *data);
    wanted w = {address, data, false, false};
    dl_iterate_phdr(visit, &w);
    if (w.found && !w.starved) return true;
    static_data_free(data);
    return false;
}

void static_data_free(static_data *data)
{
    for (size_t i = 0; i < data->pieces; i++) free(data->piece[i].copy);
    data->pieces = 0;
}

/* ----------------------------------------------------------------- names -- */

/* The file in memory; names come from its full symbol table, which is not loaded. */
typedef struct object {
    const unsigned char *bytes;
    size_t size;
} object;

static bool object_open(object *o, const char *path)
{
    struct stat status;
    int file = open(path, O_RDONLY);
    if (file < 0) return false;
    bool sized = fstat(file, &status) == 0 && status.st_size > (off_t)sizeof(ElfW(Ehdr));
    void *bytes = sized ? mmap(NULL, (size_t)status.st_size, PROT_READ, MAP_PRIVATE, file, 0) : MAP_FAILED;
    close(file);
    if (bytes == MAP_FAILED) return false;
    *o = (object){bytes, (size_t)status.st_size};
    return true;
}

/* Something of n bytes at an offset; NULL when the file is shorter. */
static const void *at(const object *o, size_t offset, size_t n)
{
    return offset <= o->size && n <= o->size - offset ? o->bytes + offset : NULL;
}

static const ElfW(Shdr) * section(const object *o, size_t index)
{
    const ElfW(Ehdr) *head = at(o, 0, sizeof *head);
    if (!head || index >= head->e_shnum) return NULL;
    return at(o, head->e_shoff + index * sizeof(ElfW(Shdr)), sizeof(ElfW(Shdr)));
}

typedef bool (*symbol_seen)(const char *name, const ElfW(Sym) * symbol, void *argument);

/* Calls `seen` for every data symbol until it returns true. */
static bool each_symbol(const object *o, symbol_seen seen, void *argument)
{
    const ElfW(Shdr) *table = NULL, *names = NULL;
    for (size_t i = 0; (table = section(o, i)) && table->sh_type != SHT_SYMTAB; i++) {
    }
    if (table) names = section(o, table->sh_link);
    if (!table || !names || !names->sh_size) return false;
    const char *text = at(o, names->sh_offset, names->sh_size);
    const ElfW(Sym) *symbols = at(o, table->sh_offset, table->sh_size);
    if (!text || !symbols || text[names->sh_size - 1]) return false;
    for (size_t i = 0; i < table->sh_size / sizeof *symbols; i++) {
        if ((symbols[i].st_info & 0xF) != STT_OBJECT || symbols[i].st_name >= names->sh_size) continue;
        if (seen(text + symbols[i].st_name, &symbols[i], argument)) return true;
    }
    return false;
}

typedef struct sought {
    size_t offset; /* of the changed byte in the module */
    char *name;
    size_t size;
} sought;

static bool covers(const char *name, const ElfW(Sym) * symbol, void *argument)
{
    sought *s = argument;
    if (s->offset < symbol->st_value || s->offset >= symbol->st_value + symbol->st_size) return false;
    snprintf(s->name, s->size, "%s", name);
    return true;
}

static bool is_counter(const char *name, const ElfW(Sym) * symbol, void *argument)
{
    (void)symbol, (void)argument;
    return strncmp(name, "__gcov", 6) == 0;
}

/* What lies at a byte of the module; false: a counter of a coverage build. */
static bool name_of(const object *o, size_t offset, char *name, size_t size)
{
    sought s = {offset, name, size};
    bool counted = each_symbol(o, is_counter, NULL);
    if (each_symbol(o, covers, &s)) return !(counted && strncmp(name, "__gcov", 6) == 0);
    snprintf(name, size, "at offset %#zx", offset);
    return !counted;
}

bool static_data_changed(const static_data *data, char *name, size_t size)
{
    object o = {NULL, 0};
    bool opened = object_open(&o, data->path), changed = false;
    for (size_t p = 0; !changed && p < data->pieces; p++) {
        const static_piece *piece = &data->piece[p];
        for (size_t i = next_change(piece, 0); !changed && i < piece->size; i = next_change(piece, i + 1))
            changed = name_of(&o, (size_t)(piece->start + i - data->base), name, size);
    }
    // NOLINTNEXTLINE(performance-no-int-to-ptr): munmap takes no const
    if (opened) munmap((void *)(uintptr_t)o.bytes, o.size);
    return changed;
}
