#include "papers/gnuplot.h"

#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <poll.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum { SILENCE_MS = 60 * 1000, END_MS = 5 * 1000, HEARD_MAX = 16 * 1024 };

/* Sockets and not pipes: MSG_NOSIGNAL spares the host a SIGPIPE, and SOCK_CLOEXEC closes the gap in which another
 * thread's child could inherit an end. */
struct gnuplot {
    pid_t pid;
    int input;   /* its standard input */
    int output;  /* its standard output and error, in the order that it wrote them */
    bool dead;   /* it has failed for good, and the fault is reported */
    bool failed; /* a command failed and is reported: gnuplot's exit status will tell of it again */
    unsigned long runs;
    size_t heard;
    char text[HEARD_MAX + 1]; /* what it said during this run; the middle of a flood is dropped */
};

static const char *const what_to_install =
    "install gnuplot with its pdfcairo terminal (Debian: gnuplot-nox or gnuplot-qt) "
    "and a font such as fonts-dejavu-core, or name the program in DUTYPROOF_GNUPLOT";

static enum status fault(struct faults *faults, const char *what, const char *why)
{
    return faults_add(faults, E_CHILD, (struct place){0}, "%s: %s", what, why);
}

/* --- finding and starting --- */

/* Joins folder and name; a relative one is made absolute, since the child changes its folder.
 * Returns: the path (malloc) when it is a program that can be run; NULL otherwise. */
static char *program_in(const char *folder, size_t length, const char *name)
{
    char path[PATH_MAX], here[PATH_MAX] = "";
    bool absolute = length > 0 && folder[0] == '/';
    if (!absolute && getcwd(here, sizeof here) == NULL) {
        return NULL;
    }
    int used = snprintf(path, sizeof path, "%s%s%.*s/%s", here, absolute ? "" : "/", (int)length, folder, name);
    bool good = used > 0 && (size_t)used < sizeof path && access(path, X_OK) == 0;
    return good ? strdup(path) : NULL;
}

static char *find_program(const char *name)
{
    if (strchr(name, '/') != NULL) {
        return program_in(name, name[0] == '/' ? 1 : 0, name[0] == '/' ? name + 1 : name);
    }
    const char *path = getenv("PATH");
    char *found = NULL;
    for (const char *at = path == NULL ? "/usr/local/bin:/usr/bin:/bin" : path; found == NULL && *at != '\0';) {
        size_t length = strcspn(at, ":");
        found = program_in(at, length, name);
        at += length + (at[length] == ':');
    }
    return found;
}

extern char **environ;

/* The environment without what would change gnuplot's drawing, and with a home for the font cache.
 * Memory: the list is from malloc, its texts are borrowed. Returns: NULL when memory is out. */
static char **child_environment(void)
{
    size_t count = 0, kept = 0;
    while (environ[count] != NULL) {
        count++;
    }
    char **list = calloc(count + 5, sizeof *list);
    if (list == NULL) {
        return NULL;
    }
    for (size_t i = 0; i < count; i++) {
        bool ours = strncmp(environ[i], "GNUTERM=", 8) != 0 && strncmp(environ[i], "GNUPLOT_", 8) != 0 &&
                    strncmp(environ[i], "LC_ALL=", 7) != 0 && strncmp(environ[i], "TZ=", 3) != 0;
        if (ours) {
            list[kept++] = environ[i];
        }
    }
    list[kept++] = "LC_ALL=C.UTF-8";
    list[kept++] = "TZ=UTC0"; /* a PDF states the zone of its date */
    if (getenv("HOME") == NULL) {
        list[kept++] = "HOME=.";
    }
    if (getenv("GLIBC_TUNABLES") == NULL) { /* keep memory between pages: a third of the time for a page */
        list[kept] = "GLIBC_TUNABLES=glibc.malloc.top_pad=16777216:glibc.malloc.trim_threshold=268435456";
    }
    return list;
}

/* What the child needs, made before the fork: after it only async-signal-safe calls are allowed. */
struct start {
    const char *folder;
    char *program, **environment;
    int input, output, report; /* the child's ends */
};

static void start_release(struct start *start)
{
    free(start->program);
    free(start->environment);
}

/* A connected pair whose numbers are above 2, so that the child can put them on its standard streams in any order. */
static bool open_pair(int pair[2])
{
    int raw[2];
    if (socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, raw) != 0) {
        return false;
    }
    for (int i = 0; i < 2; i++) {
        pair[i] = raw[i] > 2 ? raw[i] : fcntl(raw[i], F_DUPFD_CLOEXEC, 3);
        if (pair[i] != raw[i]) {
            (void)close(raw[i]);
        }
    }
    return pair[0] >= 0 && pair[1] >= 0;
}

static void close_pair(const int pair[2])
{
    for (int i = 0; i < 2; i++) {
        if (pair[i] >= 0) {
            (void)close(pair[i]);
        }
    }
}

_Noreturn static void become_gnuplot(const struct start *start)
{
    char name[] = "gnuplot", option[] = "--default-settings";
    char *const arguments[] = {name, option, NULL};
    struct sigaction usual = {.sa_handler = SIG_DFL};
    sigset_t none;
    (void)sigemptyset(&usual.sa_mask);
    (void)sigemptyset(&none);
    (void)sigaction(SIGPIPE, &usual, NULL);
    (void)sigprocmask(SIG_SETMASK, &none, NULL);
    (void)setpgid(0, 0); /* Ctrl-C is for us: gnuplot ends with its input */
    if (chdir(start->folder) == 0 && dup2(start->input, 0) >= 0 && dup2(start->output, 1) >= 0 &&
        dup2(start->output, 2) >= 0) {
        (void)execve(start->program, arguments, start->environment);
    }
    int why = errno;
    (void)send(start->report, &why, sizeof why, MSG_NOSIGNAL);
    _exit(127);
}

/* Reads why the child could not become gnuplot. Returns: 0 when it did (the report was closed by exec). */
static int read_report(int report)
{
    int why = 0;
    ssize_t got;
    do {
        got = recv(report, &why, sizeof why, 0);
    } while (got < 0 && errno == EINTR);
    return got == (ssize_t)sizeof why ? why : 0;
}

static pid_t wait_for(pid_t pid, int *state)
{
    pid_t got;
    do {
        got = waitpid(pid, state, 0);
    } while (got < 0 && errno == EINTR);
    return got;
}

static enum status launch(struct gnuplot *gnuplot, struct start *start, struct faults *faults)
{
    int input[2] = {-1, -1}, output[2] = {-1, -1}, report[2] = {-1, -1};
    bool opened = open_pair(input) && open_pair(output) && open_pair(report);
    start->input = input[1];
    start->output = output[1];
    start->report = report[1];
    pid_t pid = opened ? fork() : -1;
    if (pid == 0) {
        become_gnuplot(start);
    }
    int why = pid < 0 ? errno : 0;
    if (pid > 0) {
        (void)close(report[1]);
        report[1] = -1;
        why = read_report(report[0]);
    }
    close_pair(report);
    if (why != 0) {
        close_pair(input);
        close_pair(output);
        if (pid > 0) {
            (void)wait_for(pid, &(int){0});
        }
        return faults_add(faults, E_CHILD, (struct place){0}, "cannot start '%s' in '%s': %s", start->program,
                          start->folder, strerror(why));
    }
    (void)close(input[1]);
    (void)close(output[1]);
    gnuplot->pid = pid;
    gnuplot->input = input[0];
    gnuplot->output = output[0];
    return OK;
}

enum status gnuplot_start(const char *folder, struct gnuplot **gnuplot, struct faults *faults)
{
    const char *named = getenv("DUTYPROOF_GNUPLOT");
    const char *name = named == NULL || named[0] == '\0' ? "gnuplot" : named;
    *gnuplot = NULL;
    struct start start = {.folder = folder, .program = find_program(name)};
    if (start.program == NULL) {
        return faults_add(faults, E_CHILD, (struct place){0}, "the program '%s' is not there: %s", name,
                          what_to_install);
    }
    start.environment = child_environment();
    struct gnuplot *made = start.environment == NULL ? NULL : calloc(1, sizeof *made);
    enum status status = made == NULL ? faults_memory(faults) : launch(made, &start, faults);
    start_release(&start);
    if (status != OK) {
        free(made);
        return status;
    }
    *gnuplot = made;
    return OK;
}

/* --- talking --- */

static long now_ms(void)
{
    struct timespec now = {0};
    (void)clock_gettime(CLOCK_MONOTONIC, &now);
    return (long)now.tv_sec * 1000L + (long)(now.tv_nsec / 1000000L);
}

/* What is on its way to gnuplot: the script, then the question whose answer says that it is done. */
struct sending {
    const char *part[2];
    size_t length[2], index;
};

/* Sends what fits. Returns: false when gnuplot no longer listens. */
static bool send_some(int input, struct sending *sending)
{
    ssize_t sent =
        send(input, sending->part[sending->index], sending->length[sending->index], MSG_NOSIGNAL | MSG_DONTWAIT);
    if (sent < 0) {
        return errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR;
    }
    sending->part[sending->index] += sent;
    sending->length[sending->index] -= (size_t)sent;
    while (sending->index < 2 && sending->length[sending->index] == 0) {
        sending->index++;
    }
    return true;
}

/* Hears what gnuplot says. Returns: false when it has closed its output. */
static bool hear_some(struct gnuplot *gnuplot)
{
    if (gnuplot->heard ==
        HEARD_MAX) { /* keep the beginning, where the first error is, and the end, where the answer will be */
        memmove(gnuplot->text + HEARD_MAX / 2, gnuplot->text + HEARD_MAX - HEARD_MAX / 4, HEARD_MAX / 4);
        gnuplot->heard = HEARD_MAX / 2 + HEARD_MAX / 4;
    }
    ssize_t got = recv(gnuplot->output, gnuplot->text + gnuplot->heard, HEARD_MAX - gnuplot->heard, MSG_DONTWAIT);
    if (got <= 0) {
        return got < 0 && (errno == EAGAIN || errno == EWOULDBLOCK || errno == EINTR);
    }
    for (ssize_t i = 0; i < got; i++) { /* a NUL would hide what follows it */
        char *letter = gnuplot->text + gnuplot->heard + i;
        *letter = *letter == '\0' ? '?' : *letter;
    }
    gnuplot->heard += (size_t)got;
    gnuplot->text[gnuplot->heard] = '\0';
    return true;
}

enum outcome { ANSWERED, DIED, SILENT };

/* Sends all of it and listens until the token has come back. */
static enum outcome converse(struct gnuplot *gnuplot, struct sending *sending, const char *token)
{
    long last_ms = now_ms();
    while (strstr(gnuplot->text, token) == NULL) {
        bool more = sending->index < 2;
        struct pollfd ends[2] = {
            {.fd = gnuplot->output, .events = POLLIN},
            {.fd = more ? gnuplot->input : -1, .events = POLLOUT},
        };
        long left_ms = last_ms + SILENCE_MS - now_ms();
        int ready = left_ms <= 0 ? 0 : poll(ends, 2, (int)left_ms);
        if (ready == 0) {
            return SILENT;
        }
        if (ready < 0 && errno != EINTR) {
            return DIED;
        }
        if (ready < 0) {
            continue;
        }
        last_ms = now_ms();
        bool deaf = ends[1].revents != 0 && !send_some(gnuplot->input, sending);
        if ((ends[0].revents != 0 && !hear_some(gnuplot)) || (deaf && ends[0].revents == 0)) {
            return DIED;
        }
    }
    return ANSWERED;
}

/* The gist of what gnuplot printed: the text after "line N:", else its last line that is not blank. Cuts the text up.
 */
static const char *error_gist(char *text)
{
    const char *gist = "it gave no reason";
    char *rest = text;
    for (char *line; (line = strtok_r(rest, "\r\n", &rest)) != NULL;) {
        line += strspn(line, " \t^");
        if (*line == '"' && strchr(line + 1, '"') != NULL) { /* the script's name */
            line = strchr(line + 1, '"') + 1;
            line += strspn(line, " ");
        }
        const char *number = line + (strncmp(line, "line ", 5) == 0 ? 5 : 0);
        size_t digits = number == line ? 0 : strspn(number, "0123456789");
        const char *said = number + digits + (number[digits] == ':');
        said += strspn(said, " ");
        if (strncmp(said, "warning:", 8) == 0) {
            continue;
        }
        if (digits > 0 && number[digits] == ':') {
            return said;
        }
        if (*line != '\0') {
            gist = line;
        }
    }
    return gist;
}

static enum status report_error(struct gnuplot *gnuplot, struct faults *faults)
{
    const char *gist = error_gist(gnuplot->text);
    gnuplot->failed = true;
    bool no_terminal = strstr(gist, "unknown or ambiguous terminal") != NULL;
    return fault(faults, no_terminal ? "gnuplot cannot make PDF pages" : "gnuplot reports an error",
                 no_terminal ? what_to_install : gist);
}

enum status gnuplot_run(struct gnuplot *gnuplot, const char *script, size_t length, struct faults *faults)
{
    enum { QUESTION_MAX = 160 };
    char question[QUESTION_MAX], token[QUESTION_MAX], clean[QUESTION_MAX];
    if (gnuplot->dead) {
        return fault(faults, "cannot draw", "gnuplot has ended");
    }
    gnuplot->runs++;
    gnuplot->heard = 0;
    gnuplot->text[0] = '\0';
    /* The token is put together by gnuplot, so that an echo of the question is not taken for the answer. */
    (void)snprintf(token, sizeof token, "drawn-%lu-", gnuplot->runs);
    (void)snprintf(clean, sizeof clean, "drawn-%lu-0.", gnuplot->runs);
    int asked =
        snprintf(question, sizeof question,
                 "\nset print\nprint sprintf('drawn-%%d-%%d.', %lu, GPVAL_ERRNO)\nreset errors\n", gnuplot->runs);
    struct sending sending = {.part = {script, question}, .length = {length, (size_t)asked}, .index = length == 0};
    enum outcome outcome = converse(gnuplot, &sending, token);
    if (outcome == SILENT) {
        gnuplot->dead = true;
        return fault(faults, "gnuplot hangs", "it was silent for a minute");
    }
    if (outcome == DIED) {
        gnuplot->dead = true;
        return faults_add(faults, E_CHILD, (struct place){0}, "gnuplot has ended before its work was done: %s",
                          error_gist(gnuplot->text));
    }
    return strstr(gnuplot->text, clean) != NULL ? OK : report_error(gnuplot, faults);
}

enum status gnuplot_load(struct gnuplot *gnuplot, const char *name, struct faults *faults)
{
    char command[256];
    int length = snprintf(command, sizeof command, "load '%.200s'\n", name);
    return gnuplot_run(gnuplot, command, (size_t)length, faults);
}

/* --- ending --- */

/* Waits until gnuplot closes its output, as it does when it ends. Returns: false when it does not within END_MS. */
static bool output_ends(struct gnuplot *gnuplot)
{
    for (long end_ms = now_ms() + END_MS, left_ms; (left_ms = end_ms - now_ms()) > 0;) {
        struct pollfd output = {.fd = gnuplot->output, .events = POLLIN};
        int ready = poll(&output, 1, (int)left_ms);
        if (ready < 0 && errno != EINTR) {
            return false;
        }
        if (ready > 0 && !hear_some(gnuplot)) {
            return true;
        }
    }
    return false;
}

enum status gnuplot_stop(struct gnuplot *gnuplot, struct faults *faults)
{
    if (gnuplot == NULL) {
        return OK;
    }
    int state = 0;
    (void)close(gnuplot->input);
    bool ended = !gnuplot->dead && output_ends(gnuplot);
    if (!ended) {
        (void)kill(gnuplot->pid, SIGKILL);
    }
    bool clean = wait_for(gnuplot->pid, &state) == gnuplot->pid && ended && WIFEXITED(state) &&
                 (WEXITSTATUS(state) == 0 || gnuplot->failed);
    (void)close(gnuplot->output);
    bool reported = gnuplot->dead;
    free(gnuplot);
    if (clean) {
        return OK;
    }
    return reported ? E_CHILD
                    : fault(faults, "gnuplot did not end cleanly", ended ? "it failed" : "it had to be ended by force");
}

/* --- text as data --- */

static int plain(unsigned char letter)
{
    return letter < 0x20 || letter == 0x7f ? ' ' : letter;
}

/* Doubled quotes stand for one in gnuplot's manual, but its scanner loses count where two or more apostrophes follow
 * each other or lead the text. So each apostrophe becomes a literal of the other kind: it's is ('it'."\047".'s'). */
void script_text(FILE *script, const char *text)
{
    bool apostrophes = strchr(text, '\'') != NULL;
    (void)fputs(apostrophes ? "('" : "'", script);
    for (const char *c = text; *c != '\0'; c++) {
        if (*c == '\'') {
            (void)fputs("'.\"\\047\".'", script);
        } else {
            (void)fputc(plain((unsigned char)*c), script);
        }
    }
    (void)fputs(apostrophes ? "')" : "'", script);
}

void script_cell(FILE *script, const char *text)
{
    for (const char *c = text; *c != '\0'; c++) {
        if (*c == '\\' || *c == '"') {
            (void)fprintf(script, "\\%03o", (unsigned)(unsigned char)*c);
        } else {
            (void)fputc(plain((unsigned char)*c), script);
        }
    }
}
