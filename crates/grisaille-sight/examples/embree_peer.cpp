// The peer that the sweep is measured against: Embree's occlusion queries on
// the same triangles, origins and directions. `tests/bench` builds and runs it.
//
//     embree_peer DUMP THREADS
//
// Reads what `engine_speed` writes, answers every direction with single rays
// and with coherent packets of 16, and prints three numbers: the seconds to
// build, and those that each mode took.
#include <embree3/rtcore.h>

#include <chrono>
#include <cmath>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <limits>
#include <string>
#include <thread>
#include <vector>

static double now() {
    return std::chrono::duration<double>(std::chrono::steady_clock::now().time_since_epoch()).count();
}

template <class T>
static std::vector<T> read(FILE* f, size_t n) {
    std::vector<T> v(n);
    if (fread(v.data(), sizeof(T), n, f) != n) {
        fprintf(stderr, "the dump is too short\n");
        exit(1);
    }
    return v;
}

int main(int argc, char** argv) {
    if (argc != 3) {
        fprintf(stderr, "usage: embree_peer DUMP THREADS\n");
        return 2;
    }
    FILE* f = fopen(argv[1], "rb");
    if (!f) {
        perror(argv[1]);
        return 1;
    }
    const int threads = atoi(argv[2]);
    auto head = read<uint32_t>(f, 4);
    const size_t vertices = head[0], faces = head[1], samples = head[2], directions = head[3];
    auto positions = read<float>(f, 3 * vertices);
    auto indices = read<uint32_t>(f, 3 * faces);
    auto origins = read<float>(f, 3 * samples);
    auto normals = read<float>(f, 3 * samples);
    auto open = read<uint8_t>(f, samples);
    auto sources = read<double>(f, 3 * directions);
    fclose(f);

    double begun = now();
    RTCDevice device = rtcNewDevice(("threads=" + std::to_string(threads)).c_str());
    RTCScene scene = rtcNewScene(device);
    RTCGeometry mesh = rtcNewGeometry(device, RTC_GEOMETRY_TYPE_TRIANGLE);
    void* v = rtcSetNewGeometryBuffer(mesh, RTC_BUFFER_TYPE_VERTEX, 0, RTC_FORMAT_FLOAT3, 12, vertices);
    memcpy(v, positions.data(), positions.size() * 4);
    void* i = rtcSetNewGeometryBuffer(mesh, RTC_BUFFER_TYPE_INDEX, 0, RTC_FORMAT_UINT3, 12, faces);
    memcpy(i, indices.data(), indices.size() * 4);
    rtcCommitGeometry(mesh);
    rtcAttachGeometry(scene, mesh);
    rtcCommitScene(scene);
    const double build = now() - begun;

    auto faces_light = [&](size_t s, size_t d) {
        if (!open[s]) return false;
        const double* l = &sources[3 * d];
        const float* n = &normals[3 * s];
        return double(n[0]) * l[0] + double(n[1]) * l[1] + double(n[2]) * l[2] > 0.0;
    };
    std::vector<uint8_t> seen(samples);
    auto run = [&](bool packets, size_t d, std::vector<uint8_t>& out) {
        auto work = [&](size_t from, size_t to) {
            RTCIntersectContext context;
            rtcInitIntersectContext(&context);
            context.flags = packets ? RTC_INTERSECT_CONTEXT_FLAG_COHERENT : RTC_INTERSECT_CONTEXT_FLAG_INCOHERENT;
            const float l[3] = {float(sources[3 * d]), float(sources[3 * d + 1]), float(sources[3 * d + 2])};
            if (packets) {
                RTCRay16 ray;
                alignas(64) int valid[16];
                uint32_t who[16];
                size_t s = from;
                while (s < to) {
                    int n = 0;
                    for (; s < to && n < 16; s++) {
                        if (!faces_light(s, d)) continue;
                        ray.org_x[n] = origins[3 * s];
                        ray.org_y[n] = origins[3 * s + 1];
                        ray.org_z[n] = origins[3 * s + 2];
                        who[n++] = uint32_t(s);
                    }
                    for (int k = 0; k < 16; k++) {
                        valid[k] = k < n ? -1 : 0;
                        ray.dir_x[k] = l[0];
                        ray.dir_y[k] = l[1];
                        ray.dir_z[k] = l[2];
                        ray.tnear[k] = 0;
                        ray.tfar[k] = std::numeric_limits<float>::infinity();
                        ray.time[k] = 0;
                        ray.mask[k] = ~0u;
                        ray.flags[k] = 0;
                    }
                    if (n) rtcOccluded16(valid, scene, &context, &ray);
                    for (int k = 0; k < n; k++) out[who[k]] = ray.tfar[k] >= 0;
                }
            } else {
                for (size_t s = from; s < to; s++) {
                    if (!faces_light(s, d)) continue;
                    RTCRay ray = {};
                    ray.org_x = origins[3 * s];
                    ray.org_y = origins[3 * s + 1];
                    ray.org_z = origins[3 * s + 2];
                    ray.dir_x = l[0];
                    ray.dir_y = l[1];
                    ray.dir_z = l[2];
                    ray.tfar = std::numeric_limits<float>::infinity();
                    ray.mask = ~0u;
                    rtcOccluded1(scene, &context, &ray);
                    out[s] = ray.tfar >= 0;
                }
            }
        };
        std::vector<std::thread> pool;
        for (int t = 0; t < threads; t++)
            pool.emplace_back(work, samples * t / threads, samples * (t + 1) / threads);
        for (auto& t : pool) t.join();
    };
    double seconds[2];
    for (int packets = 0; packets < 2; packets++) {
        begun = now();
        for (size_t d = 0; d < directions; d++) run(packets, d, seen);
        seconds[packets] = now() - begun;
    }
    printf("%.6f %.6f %.6f\n", build, seconds[0], seconds[1]);
}
