/* trust.c - a plugin is native code; a file that others may write runs what others wrote. */
#include "plugin/trust.h"

#include <errno.h>
#include <grp.h>
#include <limits.h>
#include <pwd.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* The user's own group, as set up by most systems, has the user's name and no further member: writing by that
 * group is writing by the user.  When in doubt it is not. */
static bool private_group(gid_t gid)
{
    char user_text[4096], group_text[4096];
    struct passwd user, *found_user = NULL;
    struct group group, *found_group = NULL;
    if (getpwuid_r(geteuid(), &user, user_text, sizeof user_text, &found_user) != 0 || !found_user)
        return false;
    if (getgrgid_r(gid, &group, group_text, sizeof group_text, &found_group) != 0 || !found_group)
        return false;
    if (user.pw_gid != gid || strcmp(user.pw_name, group.gr_name) != 0) return false;
    for (char **member = group.gr_mem; member && *member; member++)
        if (strcmp(*member, user.pw_name) != 0) return false;
    return true;
}

static bool trusted_entry(const char *path, const char *what, const struct stat *s, report *r)
{
    if (s->st_uid != 0 && s->st_uid != geteuid())
        return complain(
            r, "not loaded: the %s '%s' belongs to another user (id %lu); it must belong to root or to you",
            what, path, (unsigned long)s->st_uid);
    if (s->st_mode & S_IWOTH)
        return complain(r, "not loaded: everybody may write the %s '%s'; take that away with: chmod o-w '%s'",
                        what, path, path);
    if ((s->st_mode & S_IWGRP) && !private_group(s->st_gid))
        return complain(
            r, "not loaded: others of its group may write the %s '%s'; take that away with: chmod g-w '%s'",
            what, path, path);
    return true;
}

/* A folder above, writable for everybody and without the sticky bit, lets anybody swap what is below it. */
static bool trusted_above(char *folder, report *r)
{
    struct stat s;
    char *slash;
    while ((slash = strrchr(folder, '/')) != NULL) {
        if (slash == folder) slash++;
        bool top = slash[0] == '\0' || slash == folder + 1;
        *slash = '\0';
        if (stat(folder, &s) != 0) return complain(r, "not loaded: '%s': %s", folder, strerror(errno));
        if ((s.st_mode & S_IWOTH) && !(s.st_mode & S_ISVTX))
            return complain(r,
                            "not loaded: everybody may rename what is in '%s' above it; move the plugin or "
                            "chmod o-w that folder",
                            folder);
        if (top) break;
    }
    return true;
}

bool trusted_plugin(const char *path, report *r)
{
    struct stat s;
    if (stat(path, &s) != 0) return complain(r, "not loaded: %s", strerror(errno));
    if (!S_ISREG(s.st_mode)) return complain(r, "not loaded: it is not a regular file");
    if (!trusted_entry(path, "file", &s, r)) return false;

    char folder[PATH_MAX];
    int length = snprintf(folder, sizeof folder, "%s", path);
    char *slash = length > 0 && (size_t)length < sizeof folder ? strrchr(folder, '/') : NULL;
    if (!slash) return complain(r, "not loaded: the path is too long");
    slash[slash == folder ? 1 : 0] = '\0';
    if (stat(folder, &s) != 0) return complain(r, "not loaded: '%s': %s", folder, strerror(errno));
    return trusted_entry(folder, "folder", &s, r) && trusted_above(folder, r);
}
